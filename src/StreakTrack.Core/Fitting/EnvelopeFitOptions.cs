namespace StreakTrack.Core.Fitting;

/// <summary>Settings of <see cref="EnvelopeFitter"/>.</summary>
public sealed record EnvelopeFitOptions
{
    /// <summary>The value of <see cref="Model"/> that lets the program choose.</summary>
    public const string AutomaticModel = "auto";

    /// <summary>Model by name (<see cref="EnvelopeModels.Names"/>), or <c>auto</c>. Default <c>auto</c>.</summary>
    public string Model { get; init; } = AutomaticModel;

    /// <summary>
    /// Whether a named model is held against the others. Default true; false for a single fit as quick as can be. Without effect when the
    /// program chooses.
    /// </summary>
    public bool CompareModels { get; init; } = true;

    /// <summary>Beginning of the window, in s of the series; null for the first point.</summary>
    public double? WindowStartSeconds { get; init; }

    /// <summary>End of the window, in s of the series; null for the last point.</summary>
    public double? WindowEndSeconds { get; init; }

    /// <summary>Time of the switch, in s of the series, when it is known; null to find it.</summary>
    public double? SwitchTimeSeconds { get; init; }

    /// <summary>How the time of the switch is had when it is not known. Default <see cref="SwitchTimeSource.Fitted"/>.</summary>
    public SwitchTimeSource SwitchTime { get; init; }

    /// <summary>Weights of the points. Default <see cref="PointWeighting.Auto"/>.</summary>
    public PointWeighting Weighting { get; init; }

    /// <summary>Whether given uncertainties are taken at their word. Default <see cref="UncertaintyScaling.Auto"/>.</summary>
    public UncertaintyScaling Scaling { get; init; }

    /// <summary>Treatment of points far off the curve. Default <see cref="FitLoss.Auto"/>.</summary>
    public FitLoss Loss { get; init; }

    /// <summary>Treatment of correlated residuals. Default <see cref="CorrelationTreatment.Auto"/>.</summary>
    public CorrelationTreatment Correlation { get; init; }

    /// <summary>
    /// Whether 95 % intervals are taken from the profile of the likelihood. Default true; otherwise, and beyond
    /// <see cref="EnvelopeFitter.MaxProfilePoints"/> points, they are the estimate plus and minus Student's t times the standard
    /// uncertainty.
    /// </summary>
    public bool ProfileIntervals { get; init; } = true;
}
