using System.Text.Json.Serialization;

namespace StreakTrack.Core.References;

/// <summary>A run that a reference is made from.</summary>
public sealed record ReferenceRun
{
    /// <summary>Name of the clip or series file.</summary>
    public required string File { get; init; }

    /// <summary>SHA-256 of that file, lower-case hexadecimal.</summary>
    [JsonPropertyName("sha256")]
    public required string Sha256 { get; init; }

    /// <summary>The setting at which it was filmed; null when nothing is set.</summary>
    public double? Setting { get; init; }

    /// <summary>Model of the envelope.</summary>
    public required string Model { get; init; }

    /// <summary>Decay time, in s.</summary>
    public required double TauS { get; init; }

    /// <summary>Its standard uncertainty from the scatter of the frames, in s: independent from run to run.</summary>
    public required double ScatterUncertaintyS { get; init; }

    /// <summary>The rest of its standard uncertainty, in s: offset of lengths, choice of the model, clock; runs may have it in common.</summary>
    public required double CommonUncertaintyS { get; init; }

    /// <summary>Its standard uncertainty altogether, in s.</summary>
    [JsonIgnore]
    public double StandardUncertaintyS => Math.Sqrt((ScatterUncertaintyS * ScatterUncertaintyS) + (CommonUncertaintyS * CommonUncertaintyS));

    /// <summary>Frequency stated for the run, in Hz; null when none was.</summary>
    public double? FrequencyHz { get; init; }

    /// <summary>Standard uncertainty stated for the frequency, in Hz.</summary>
    public double FrequencyUncertaintyHz { get; init; }
}
