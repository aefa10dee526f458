using System.Text.Json.Serialization;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.References;

/// <summary>The instrument at one setting.</summary>
public sealed record ReferenceSetting
{
    /// <summary>The setting; null when nothing is set.</summary>
    public double? Setting { get; init; }

    /// <summary>Runs at this setting; 0 when it was given by parameters.</summary>
    public required int Runs { get; init; }

    /// <summary>Decay time of the amplitude, in s: mean of the runs and its standard uncertainty, what the runs have in common included.</summary>
    public required QuantityRecord TauS { get; init; }

    /// <summary>Standard deviation between runs beyond their own scatter, in s; null when it is not known.</summary>
    public double? BetweenRunDeviationS { get; init; }

    /// <summary>Probability of so large a scatter if the runs' own uncertainties were all there is; null when it is not known.</summary>
    public double? HomogeneityProbability { get; init; }

    /// <summary>Standard uncertainty with which the reference foretells the decay time of a further run, in s: of the mean and between runs.</summary>
    public required double ToleranceStandardUncertaintyS { get; init; }

    /// <summary>Its effective degrees of freedom after Welch and Satterthwaite; null when infinite.</summary>
    public double? DegreesOfFreedom { get; init; }

    /// <summary>Coverage factor for 95 %.</summary>
    public required double CoverageFactor { get; init; }

    /// <summary>Lower and upper end of the tolerance for the decay time of a further run, in s, its own uncertainty not counted.</summary>
    [JsonPropertyName("tolerance_tau_s")]
    public required IReadOnlyList<double> ToleranceTauS { get; init; }

    /// <summary>Undamped frequency, in Hz; null when not known.</summary>
    public QuantityRecord? FrequencyHz { get; init; }

    /// <summary>What follows from decay time and frequency, by names that carry the unit, with the standard uncertainty of the mean.</summary>
    public IReadOnlyDictionary<string, QuantityRecord> Quantities { get; init => field = value ?? new Dictionary<string, QuantityRecord>(); } = new Dictionary<string, QuantityRecord>();
}
