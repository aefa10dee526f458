using System.Text.Json.Serialization;

namespace StreakTrack.Core.Records;

/// <summary>The compiled serializer of <see cref="AnalysisRecord"/>; no reflection, so the command starts quickly.</summary>
[JsonSourceGenerationOptions(
    PropertyNamingPolicy = JsonKnownNamingPolicy.SnakeCaseLower,
    WriteIndented = true,
    NewLine = "\n",
    UseStringEnumConverter = true,
    RespectNullableAnnotations = true,
    RespectRequiredConstructorParameters = true,
    UnmappedMemberHandling = JsonUnmappedMemberHandling.Skip,
    Converters = [typeof(FiniteDoubleConverter), typeof(FindingSeverityConverter)])]
[JsonSerializable(typeof(AnalysisRecord))]
[JsonSerializable(typeof(AnalysisOptions))]
internal sealed partial class RecordJsonContext : JsonSerializerContext;
