using System.Text.Json;
using System.Text.Json.Serialization;
using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Records;

/// <summary>Severities in lower case: info, warning, error.</summary>
internal sealed class FindingSeverityConverter() : JsonStringEnumConverter<FindingSeverity>(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false);
