using System.Text.Json.Serialization;

namespace StreakTrack.Core.Records;

/// <summary>A fit of an envelope model, as it stands in the record.</summary>
public sealed record FitRecord
{
    // The compiled reader hands null to the setters of what a file lacks, a file of an older version perhaps: they put the default there.

    /// <summary>Name of the model.</summary>
    public required string Model { get; init; }

    /// <summary>The curve that was fitted, t in s of the series; tells apart forms of a model that share its name.</summary>
    public string? Formula { get; init; }

    /// <summary>One plain sentence on why this model: "a single exponential is enough …".</summary>
    public required string Statement { get; init; }

    /// <summary>Parameters by name; each name carries its unit. <c>t0_s</c>, like every time of a clip, is by the time stamps of the frames, which
    /// mark the start of an exposure: what a frame shows happened up to one exposure later.</summary>
    public required IReadOnlyDictionary<string, ParameterRecord> Parameters { get; init; }

    /// <summary>Standard uncertainty of an offset that all amplitudes may have in common, in mm; it is contained in the parameters'
    /// uncertainties. 0 when none was stated.</summary>
    public double LengthOffsetUncertaintyMm { get; init; }

    /// <summary>Why the iteration ended.</summary>
    public required string Stop { get; init; }

    /// <summary>Whether it ended at a minimum.</summary>
    public required bool Converged { get; init; }

    /// <summary>Points that went into the fit.</summary>
    public required int Points { get; init; }

    /// <summary>Points minus free parameters.</summary>
    public required int DegreesOfFreedom { get; init; }

    /// <summary>Degrees of freedom that count for intervals: fewer than <see cref="DegreesOfFreedom"/> where residuals are
    /// correlated.</summary>
    public double? EffectiveDegreesOfFreedom { get; init; }

    /// <summary>Weighted sum of squared residuals over the degrees of freedom; null without stated uncertainties.</summary>
    public double? ReducedChiSquare { get; init; }

    /// <summary>The central 95 % range in which reduced chi-square lies when the stated uncertainties are of the right size; null without
    /// stated uncertainties.</summary>
    [JsonPropertyName("reduced_chi_square_range95")]
    public IReadOnlyList<double>? ReducedChiSquareRange95 { get; init; }

    /// <summary>Scatter common to all points that was added to their own uncertainties, in mm; 0 when these explain the residuals, null when
    /// all points counted alike.</summary>
    public double? CommonScatterMm { get; init; }

    /// <summary>The loss that was used: least-squares or robust.</summary>
    public string Loss { get; init => field = value ?? "least-squares"; } = "least-squares";

    /// <summary>Correlation of residuals one frame apart that the uncertainties allow for; 0 when they are taken as independent.</summary>
    public double NoiseCorrelation { get; init; }

    /// <summary>Tests of the residuals; null when there are too few.</summary>
    public ResidualRecord? Residuals { get; init; }

    /// <summary>Points far off the curve: used, with the weight given, and named here.</summary>
    public IReadOnlyList<FlaggedPointRecord> FlaggedPoints { get; init => field = value ?? []; } = [];

    /// <summary>Points that did not go into the fit, by reason.</summary>
    public LeftOutRecord? LeftOut { get; init; }

    /// <summary>What resampling in blocks says of the uncertainties; null when it was not done.</summary>
    public BootstrapRecord? Bootstrap { get; init; }

    /// <summary>Root mean square of the residuals, in mm.</summary>
    public required double ResidualRmsMm { get; init; }

    /// <summary>First and last time of the points used, in s.</summary>
    public required IReadOnlyList<double> WindowS { get; init; }

    /// <summary>The models tried, the best first.</summary>
    public IReadOnlyList<ModelRecord> Models { get; init => field = value ?? []; } = [];
}

/// <summary>One parameter of a fit, in the unit that its name carries.</summary>
/// <param name="Value">The estimate.</param>
/// <param name="StandardUncertainty">One standard uncertainty, everything included; null where it could not be had.</param>
/// <param name="Interval95">Lower and upper end of the 95 % interval; an open end is null.</param>
/// <param name="ScatterUncertainty">The part of the standard uncertainty that comes from the scatter of the points.</param>
public sealed record ParameterRecord(
    double Value, double? StandardUncertainty, [property: JsonPropertyName("interval95")] IReadOnlyList<double?> Interval95,
    double? ScatterUncertainty)
{
    /// <summary>The part from the scatter if residuals were taken as independent.</summary>
    public double? IndependentUncertainty { get; init; }

    /// <summary>The part from an offset that all amplitudes may share.</summary>
    public double? OffsetUncertainty { get; init; }

    /// <summary>The part from the uncertainty of a switch time that was known or found.</summary>
    public double? SwitchTimeUncertainty { get; init; }

    /// <summary>The part from models that the data do not exclude; 0 where the model was named.</summary>
    public double? ModelUncertainty { get; init; }

    /// <summary>Whether the value was given or found beforehand, and not fitted.</summary>
    public bool Held { get; init; }

    /// <summary>Whether it was put on the bound of its physical range.</summary>
    public bool AtBound { get; init; }
}

/// <summary>One row of the model comparison.</summary>
/// <param name="Model">Name of the model.</param>
/// <param name="Formula">The curve that was fitted; tells apart forms of a model that share its name.</param>
/// <param name="Parameters">Number of free parameters.</param>
/// <param name="Aicc">Corrected Akaike criterion; smaller is better.</param>
/// <param name="DeltaAicc">Difference from the best model.</param>
/// <param name="TauS">Decay time by this model, in s.</param>
/// <param name="TauUncertaintyS">Its standard uncertainty, in s.</param>
public sealed record ModelRecord(
    string Model, string? Formula, int Parameters, double Aicc, double DeltaAicc, double? TauS, double? TauUncertaintyS);

/// <summary>Tests of the residuals, each divided by its standard deviation where those differ.</summary>
/// <param name="RunsZ">Number of runs of one sign: its deviation from the expected one, in standard deviations; negative for too few.</param>
/// <param name="RunsProbability">Two-sided probability of so large a deviation.</param>
/// <param name="DurbinWatson">Durbin-Watson's statistic: 2 for independent residuals.</param>
/// <param name="Lag1Correlation">Correlation of neighbouring residuals.</param>
/// <param name="LjungBox">Ljung and Box's statistic.</param>
/// <param name="LjungBoxLags">Its lags.</param>
/// <param name="LjungBoxProbability">Probability of a statistic at least so large for independent residuals.</param>
public sealed record ResidualRecord(
    double RunsZ, double RunsProbability, double DurbinWatson, double Lag1Correlation, double LjungBox, int LjungBoxLags,
    double LjungBoxProbability);

/// <summary>A point far off the curve.</summary>
/// <param name="Frame">Frame number.</param>
/// <param name="TimeS">Time, in s.</param>
/// <param name="AmplitudeMm">Measured amplitude, in mm.</param>
/// <param name="ResidualMm">Measured minus fitted amplitude, in mm.</param>
/// <param name="Weight">Factor from the robust loss, 0 to 1; 1 for full weight.</param>
public sealed record FlaggedPointRecord(int Frame, double TimeS, double AmplitudeMm, double ResidualMm, double Weight);

/// <summary>Points that did not go into the fit, by reason.</summary>
/// <param name="Unusable">Without a usable amplitude, as their flags in the series say.</param>
/// <param name="OutsideWindow">Outside the window.</param>
/// <param name="TransitionFrames">Frame numbers whose exposure may lie on both sides of the switch.</param>
public sealed record LeftOutRecord(int Unusable, int OutsideWindow, IReadOnlyList<int> TransitionFrames);

/// <summary>A moving-block bootstrap of the residuals: a second opinion that assumes no model of the noise.</summary>
/// <param name="Replicates">Simulated series whose fit came to rest.</param>
/// <param name="Failures">Simulated series whose fit did not.</param>
/// <param name="BlockLength">Residuals drawn together.</param>
/// <param name="Seed">Seed of the random numbers.</param>
/// <param name="Parameters">What it says of each free parameter.</param>
public sealed record BootstrapRecord(
    int Replicates, int Failures, int BlockLength, int Seed, IReadOnlyDictionary<string, BootstrapParameterRecord> Parameters);

/// <summary>One parameter under the bootstrap, in the unit that its name carries.</summary>
/// <param name="StandardUncertainty">Standard deviation over the simulated series.</param>
/// <param name="Interval95">2.5 % and 97.5 % quantile.</param>
public sealed record BootstrapParameterRecord(
    double? StandardUncertainty, [property: JsonPropertyName("interval95")] IReadOnlyList<double?> Interval95);
