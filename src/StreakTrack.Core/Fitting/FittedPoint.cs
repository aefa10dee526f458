namespace StreakTrack.Core.Fitting;

/// <summary>One point of the series beside the fitted curve.</summary>
/// <param name="Frame">Frame number.</param>
/// <param name="TimeSeconds">Time, in s.</param>
/// <param name="AmplitudeMm">Measured amplitude, in mm; NaN where there is none.</param>
/// <param name="SigmaMm">
/// Standard deviation that the fit assumed for it, in mm, before any scaling; NaN when all points counted alike or it was left out.
/// </param>
/// <param name="CurveMm">The curve at that time, in mm.</param>
/// <param name="Use">Whether it went into the fit.</param>
/// <param name="Weight">Factor from the robust loss, 0 to 1; 0 when it was left out.</param>
public sealed record FittedPoint(
    int Frame, double TimeSeconds, double AmplitudeMm, double SigmaMm, double CurveMm, PointUse Use, double Weight)
{
    /// <summary>Measured minus fitted amplitude, in mm.</summary>
    public double ResidualMm => AmplitudeMm - CurveMm;

    /// <summary>Whether it went into the fit.</summary>
    public bool IsUsed => Use is PointUse.Used or PointUse.Outlier;
}
