namespace StreakTrack.Reporting.Figures;

/// <summary>A fitted envelope as the figures need it: the curve, and what each frame leaves over.</summary>
public sealed record FittedCurve
{
    /// <summary>Times of the curve's points, in s, increasing.</summary>
    public required IReadOnlyList<double> TimesSeconds { get; init; }

    /// <summary>Amplitudes of the curve, in mm; one for each time.</summary>
    public required IReadOnlyList<double> AmplitudesMm { get; init; }

    /// <summary>Standard uncertainty of the curve, in mm; one for each time, NaN where it is not known.</summary>
    public required IReadOnlyList<double> UncertaintiesMm { get; init; }

    /// <summary>Time of the switch, in s; null where the curve has none or it lies outside the series.</summary>
    public double? SwitchTimeSeconds { get; init; }

    /// <summary>The frames that went into the fit.</summary>
    public required IReadOnlyList<FitResidual> Residuals { get; init; }

    /// <summary>Root mean square of the residuals, in mm.</summary>
    public required double ResidualRmsMm { get; init; }
}

/// <summary>What one frame leaves over.</summary>
/// <param name="Frame">Position of the frame in the clip.</param>
/// <param name="TimeSeconds">Time of the frame, in s.</param>
/// <param name="ResidualMm">Measured amplitude minus curve, in mm.</param>
/// <param name="Normalised">The residual divided by the frame's own standard uncertainty; NaN where that is not known.</param>
/// <param name="Outlier">Whether the fit calls the frame an outlier.</param>
public sealed record FitResidual(int Frame, double TimeSeconds, double ResidualMm, double Normalised, bool Outlier);
