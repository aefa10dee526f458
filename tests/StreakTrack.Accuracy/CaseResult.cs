namespace StreakTrack.Accuracy;

/// <summary>What an analysis made of one clip beside the truth. NaN where there is no such number.</summary>
internal sealed record CaseResult
{
    /// <summary>What is varied, or the kind of clip.</summary>
    public required string Group { get; init; }

    /// <summary>Name within the group.</summary>
    public required string Name { get; init; }

    /// <summary>True decay time, in s.</summary>
    public double TrueTauS { get; init; } = double.NaN;

    /// <summary>Model that was chosen.</summary>
    public string Model { get; init; } = "";

    /// <summary>Decay time found, in s.</summary>
    public double TauS { get; init; } = double.NaN;

    /// <summary>Its standard uncertainty, in s.</summary>
    public double TauUncertaintyS { get; init; } = double.NaN;

    /// <summary>Whether the stated 95 % interval holds the truth; null without an interval.</summary>
    public bool? IntervalHolds { get; init; }

    /// <summary>Frames whose amplitude could be used.</summary>
    public int UsableFrames { get; init; }

    /// <summary>Frames of the clip.</summary>
    public int Frames { get; init; }

    /// <summary>Usable frames whose true amplitude is above three spot sigmas: those that bias and scatter are taken over.</summary>
    public int ComparedFrames { get; init; }

    /// <summary>Mean of amplitude minus truth, in mm.</summary>
    public double BiasMm { get; init; } = double.NaN;

    /// <summary>Standard deviation of amplitude minus truth, in mm.</summary>
    public double ScatterMm { get; init; } = double.NaN;

    /// <summary>Largest absolute difference of amplitude and truth, in mm.</summary>
    public double LargestErrorMm { get; init; } = double.NaN;

    /// <summary>Standard deviation of (amplitude - truth)/u about its mean; 1 where the stated uncertainties are true.</summary>
    public double NormalisedScatter { get; init; } = double.NaN;

    /// <summary>Mean of the threshold estimate minus truth, in mm.</summary>
    public double ThresholdBiasMm { get; init; } = double.NaN;

    /// <summary>Standard deviation of the threshold estimate minus truth, in mm.</summary>
    public double ThresholdScatterMm { get; init; } = double.NaN;

    /// <summary>Mean of the threshold estimate minus truth over all frames with one, used or not, in mm: short exposures show an arc.</summary>
    public double ArcBiasMm { get; init; } = double.NaN;

    /// <summary>Standard deviation of the same, in mm.</summary>
    public double ArcScatterMm { get; init; } = double.NaN;

    /// <summary>Frequency found by the advance of the arcs, in Hz.</summary>
    public double FrequencyHz { get; init; } = double.NaN;

    /// <summary>Its stated standard uncertainty, in Hz.</summary>
    public double FrequencyUncertaintyHz { get; init; } = double.NaN;

    /// <summary>True frequency, in Hz.</summary>
    public double TrueFrequencyHz { get; init; } = double.NaN;

    /// <summary>Codes of the findings that are not mere information.</summary>
    public IReadOnlyList<string> Findings { get; init; } = [];

    /// <summary>Why there is no result; empty where there is one.</summary>
    public string Refusal { get; init; } = "";

    /// <summary>Relative error of the decay time.</summary>
    public double TauError => TauS / TrueTauS - 1;
}
