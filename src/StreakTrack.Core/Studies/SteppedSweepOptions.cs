namespace StreakTrack.Core.Studies;

/// <summary>Settings of a stepped sweep's study.</summary>
public sealed record SteppedSweepOptions
{
    /// <summary>Shape of the steady response; null (the default) for the exact one, unless the Lorentzian follows the series decidedly
    /// better. <see cref="ResponseModel.PowerLorentzian"/> is no amplitude and refused.</summary>
    public ResponseModel? Response { get; init; }

    /// <summary>Standard uncertainty of an offset that all amplitudes may share, in mm, at least 0. Default 0.</summary>
    public double OffsetUncertaintyMm { get; init; }

    /// <summary>Beginning of the window, in s; null for the first point.</summary>
    public double? WindowStartSeconds { get; init; }

    /// <summary>End of the window, in s; null for the last point.</summary>
    public double? WindowEndSeconds { get; init; }
}
