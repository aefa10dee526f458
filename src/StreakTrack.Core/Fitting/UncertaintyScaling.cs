namespace StreakTrack.Core.Fitting;

/// <summary>Whether the points' uncertainties are taken at their word.</summary>
public enum UncertaintyScaling
{
    /// <summary>
    /// At their word when reduced chi-square lies within its central 95 % range; otherwise scaled by it, and a finding says so. Those of a table of
    /// results are scaled up only. Without given uncertainties always scaled.
    /// </summary>
    Auto,

    /// <summary>At their word: the covariance is not scaled.</summary>
    Absolute,

    /// <summary>Only their ratios count: the covariance is scaled by reduced chi-square.</summary>
    Scaled,
}
