using System.Text.Json.Serialization;
using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Records;

/// <summary>The results of an analysis. Nothing in it depends on when, where or how fast it was made.</summary>
public sealed record ResultRecord
{
    // The compiled reader hands null to the setters of what a file lacks, a file of an older version perhaps: they put the default there.

    /// <summary>The pixel scale; null when a bare series was fitted.</summary>
    public ScaleRecord? Scale { get; init; }

    /// <summary>How the streak was measured; null when a bare series was fitted.</summary>
    public StreakRecord? Streak { get; init; }

    /// <summary>Summary of the series.</summary>
    public required SeriesRecord Series { get; init; }

    /// <summary>The fit; null when none was possible.</summary>
    public FitRecord? Fit { get; init; }

    /// <summary>The sweep, when the drive was stepped through resonance; null otherwise. There is no <see cref="Fit"/> beside it.</summary>
    public SweepRecord? Sweep { get; init; }

    /// <summary>The decay time under other choices of window, estimate, weights, loss and model: the analysis itself first. Empty when there
    /// is no fit.</summary>
    public IReadOnlyList<RobustnessRecord> Robustness { get; init => field = value ?? []; } = [];

    /// <summary>Uncertainty budgets: of the decay time, of Q, of the amplitude at the mirror, as far as there is what they need.</summary>
    public IReadOnlyList<BudgetRecord> Budgets { get; init => field = value ?? []; } = [];

    /// <summary>Physical quantities by name, each with its unit in the name (<c>q</c>, <c>damping_ratio</c>, <c>linewidth_power_hz</c>, …);
    /// empty when there is no fit to take them from.</summary>
    public IReadOnlyDictionary<string, QuantityRecord> Oscillator { get; init => field = value ?? new Dictionary<string, QuantityRecord>(); } = new Dictionary<string, QuantityRecord>();

    /// <summary>What each photograph shows, in the order of the series; empty when a clip or a series was analysed.</summary>
    public IReadOnlyList<PhotoResultRecord> Photos { get; init => field = value ?? []; } = [];

    /// <summary>Remarks on quality, the most severe first.</summary>
    public IReadOnlyList<Finding> Findings { get; init => field = value ?? []; } = [];
}

/// <summary>A value with its standard uncertainty, in the unit that its key names.</summary>
/// <param name="Value">The estimate.</param>
/// <param name="StandardUncertainty">One standard uncertainty; null where it is not known.</param>
public sealed record QuantityRecord(double Value, double? StandardUncertainty);

/// <summary>The pixel scale.</summary>
public sealed record ScaleRecord
{
    /// <summary>The map's form: linear, projective, …</summary>
    public required string Model { get; init; }

    /// <summary>Scale in the middle of the marks, in mm per px.</summary>
    public required double MmPerPx { get; init; }

    /// <summary>Root mean square of the marks' residuals, in mm; null when the map follows from marks too few to leave any.</summary>
    public double? ResidualRmsMm { get; init; }

    /// <summary>Residual of each mark as given (reading of the map at its place minus reading given), in mm, in the order of the
    /// marks.</summary>
    public IReadOnlyList<double> ResidualsMm { get; init => field = value ?? []; } = [];

    /// <summary>The ticks that made the map; null when the marks alone did.</summary>
    public TicksRecord? Ticks { get; init; }

    /// <summary>Relative standard uncertainty of a length over the middle of the marks.</summary>
    public double? RelativeUncertainty { get; init; }
}

/// <summary>The ruler's ticks that were found in the picture.</summary>
public sealed record TicksRecord
{
    /// <summary>Spacing of the ticks, in mm.</summary>
    public required double StepMm { get; init; }

    /// <summary>Root mean square of the ticks' residuals about the map, in mm.</summary>
    public required double ResidualRmsMm { get; init; }

    /// <summary>Where each tick lies on the line through the marks, and its reading.</summary>
    public IReadOnlyList<MarkRecord> Used { get; init => field = value ?? []; } = [];
}

/// <summary>How the streak was measured.</summary>
public sealed record StreakRecord
{
    /// <summary>The colour channel or combination in which the beam was measured.</summary>
    public required string Channel { get; init; }

    /// <summary>Standard deviation of the spot along the streak, in px.</summary>
    public required double SpotSigmaPx { get; init; }

    /// <summary>Distance of the band's middle from the line through the marks, in px of the displayed picture.</summary>
    public required double BandOffsetPx { get; init; }

    /// <summary>Full width of the band, in px.</summary>
    public required double BandWidthPx { get; init; }

    /// <summary>Length of an exposure in periods of the oscillation; null where it cannot be told.</summary>
    public double? ExposurePeriods { get; init; }

    /// <summary>Frequency of the oscillation folded to 0 .. half of the frame rate, in Hz; null where exposures see the whole swing.</summary>
    public QuantityRecord? AliasFrequencyHz { get; init; }

    /// <summary>The frequency nearest to the one given that looks alike at this frame rate, in Hz; null without either.</summary>
    public QuantityRecord? FrequencyHz { get; init; }
}

/// <summary>Summary of the series; the series itself is in <c>series.csv</c>, that of photographs in <c>photos.csv</c>.</summary>
public sealed record SeriesRecord
{
    /// <summary>Rows of the series: frames, or photographs.</summary>
    public required int Frames { get; init; }

    /// <summary>Rows that could go into a fit.</summary>
    public required int UsableFrames { get; init; }

    /// <summary>SHA-256 of <c>series.csv</c>, or of <c>photos.csv</c>, lower-case hexadecimal.</summary>
    [JsonPropertyName("sha256")]
    public required string Sha256 { get; init; }
}
