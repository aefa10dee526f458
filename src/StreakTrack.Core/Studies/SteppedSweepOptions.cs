namespace StreakTrack.Core.Studies;

/// <summary>Settings of a stepped sweep's study.</summary>
public sealed record SteppedSweepOptions
{
    /// <summary>Shape of the steady response; null (the default) for the exact one, unless the Lorentzian follows the series decidedly
    /// better. <see cref="ResponseModel.PowerLorentzian"/> is no amplitude and refused.</summary>
    public ResponseModel? Response { get; init; }

    /// <summary>What the drive's phase does at a step. Default <see cref="DrivePhase.Auto"/>.</summary>
    public DrivePhase Phase { get; init; }

    /// <summary>
    /// Standard uncertainty of the steps' times in the table, in s, above 0. They are fitted about the nominal ones, after a common shift;
    /// where the series does not show a step, this holds it. Default 0.1.
    /// </summary>
    public double StepTimeUncertaintySeconds { get; init; } = 0.1;

    /// <summary>
    /// Part of a step's steady amplitude that the transient may still have at its end before the step counts as unsettled; above 0.
    /// Default 0.01.
    /// </summary>
    public double SettledShare { get; init; } = 0.01;

    /// <summary>Standard uncertainty of an offset that all amplitudes may share, in mm, at least 0. Default 0.</summary>
    public double OffsetUncertaintyMm { get; init; }

    /// <summary>Beginning of the window, in s; null for the first point.</summary>
    public double? WindowStartSeconds { get; init; }

    /// <summary>End of the window, in s; null for the last point.</summary>
    public double? WindowEndSeconds { get; init; }
}
