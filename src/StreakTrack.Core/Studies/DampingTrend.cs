namespace StreakTrack.Core.Studies;

/// <summary>A curve of the damping rate against the setting.</summary>
public sealed record DampingTrend
{
    private readonly CurveFit _fit;

    internal DampingTrend(CurveFit fit, bool varianceKnown)
    {
        _fit = fit;
        Aicc = fit.Aicc(varianceKnown);
    }

    /// <summary>Name: <c>constant</c>, <c>line</c> or <c>power-law</c> (a constant and a power of the setting).</summary>
    public required string Model { get; init; }

    /// <summary>
    /// The parameters: <c>rate_at_zero_per_s</c>; for a line <c>slope_per_s</c> (per unit of the setting); for a power law
    /// <c>rise_per_s</c> (above zero, at the largest setting) and <c>exponent</c>.
    /// </summary>
    public required IReadOnlyList<StudyParameter> Parameters { get; init; }

    /// <summary>Weighted sum of squared residuals of the settings' means; the plain sum without uncertainties.</summary>
    public double ChiSquare => _fit.Minimum.SumOfSquares;

    /// <summary>Settings minus parameters.</summary>
    public int DegreesOfFreedom => _fit.DegreesOfFreedom;

    /// <summary>Probability of a chi-square at least as large if curve and uncertainties are right; NaN without uncertainties.</summary>
    public double ChiSquareProbability => _fit.ChiSquareProbability;

    /// <summary>Whether the uncertainties were scaled with the scatter about the curve.</summary>
    public bool IsScaled => _fit.IsScaled;

    /// <summary>Akaike's corrected criterion; smaller is better, infinite with too few settings.</summary>
    public double Aicc { get; }

    /// <summary>Mean rate minus curve, for each setting, in 1/s.</summary>
    public IReadOnlyList<double> Residuals => _fit.Residuals;

    /// <summary>The curve, with the standard uncertainty that the parameters leave it, in 1/s.</summary>
    /// <param name="setting">The setting.</param>
    public UncertainValue At(double setting) => _fit.At(setting);
}
