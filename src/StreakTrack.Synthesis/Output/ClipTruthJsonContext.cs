using System.Text.Json.Serialization;

namespace StreakTrack.Synthesis.Output;

/// <summary>How <see cref="ClipTruth"/> becomes JSON.</summary>
[JsonSourceGenerationOptions(
    WriteIndented = true, PropertyNamingPolicy = JsonKnownNamingPolicy.SnakeCaseLower, UseStringEnumConverter = true)]
[JsonSerializable(typeof(ClipTruth))]
internal sealed partial class ClipTruthJsonContext : JsonSerializerContext;
