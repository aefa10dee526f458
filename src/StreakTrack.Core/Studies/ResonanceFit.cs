
namespace StreakTrack.Core.Studies;

/// <summary>A resonance curve fitted to points.</summary>
/// <remarks>
/// Uncertainties are standard uncertainties from the fit alone: those of the drive's frequency scale and of the ruler are not in them.
/// </remarks>
public sealed record ResonanceFit
{
    private readonly CurveFit _fit;

    internal ResonanceFit(CurveFit fit) => _fit = fit;

    /// <summary>The shape.</summary>
    public required ResponseModel Response { get; init; }

    /// <summary>What lies under it.</summary>
    public required ResponseBackground Background { get; init; }

    /// <summary>
    /// The parameters: <c>static_response, f0_hz, q</c> for the exact shape and <c>peak_response, f0_hz, half_width_hz</c> for the
    /// others, then
    /// <c>background</c> and <c>background_slope_per_hz</c> where fitted.
    /// </summary>
    public required IReadOnlyList<StudyParameter> Parameters { get; init; }

    /// <summary>Covariance matrix of the parameters, in their order.</summary>
    public double[,] Covariance => (double[,])_fit.Covariance.Clone();

    /// <summary>Resonance frequency f0 (undamped), in Hz. For the Lorentzian shapes the place of the peak, which they do not tell from
    /// it.</summary>
    public required UncertainValue F0Hz { get; init; }

    /// <summary>Quality factor: from the exact curve, or f0/(2 h).</summary>
    public required UncertainValue QualityFactor { get; init; }

    /// <summary>Decay time of the amplitude that belongs to the width: Q/(pi f0), in s.</summary>
    public required UncertainValue TauSeconds { get; init; }

    /// <summary>Full width at half maximum of the power, in Hz: f0/Q.</summary>
    public required UncertainValue LinewidthPowerHz { get; init; }

    /// <summary>Frequency of the largest response, in Hz; NaN when Q is too small for a peak (below 1/sqrt 2).</summary>
    public required UncertainValue PeakFrequencyHz { get; init; }

    /// <summary>Largest response above the background, in the unit of the points; negative for a dip, NaN without a peak.</summary>
    public required UncertainValue PeakResponse { get; init; }

    /// <summary>Points that were fitted.</summary>
    public required int Points { get; init; }

    /// <summary>Points minus parameters.</summary>
    public int DegreesOfFreedom => _fit.DegreesOfFreedom;

    /// <summary>Weighted sum of squared residuals; the plain sum without uncertainties.</summary>
    public double ChiSquare => _fit.Minimum.SumOfSquares;

    /// <summary>Whether the points carried uncertainties.</summary>
    public bool HasUncertainties => _fit.HasUncertainties;

    /// <summary>Whether the uncertainties of the results were scaled with the scatter.</summary>
    public bool IsScaled => _fit.IsScaled;

    /// <summary>Probability of a chi-square at least as large if shape and stated uncertainties are right; NaN without
    /// uncertainties.</summary>
    public double ChiSquareProbability => _fit.ChiSquareProbability;

    /// <summary>Akaike's corrected criterion; smaller is better, differences count.</summary>
    public double Aicc => _fit.Aicc(varianceKnown: !IsScaled);

    /// <summary>Measured minus fitted, for each point.</summary>
    public IReadOnlyList<double> Residuals => _fit.Residuals;

    /// <summary>Residuals over their standard deviation, for each point.</summary>
    public IReadOnlyList<double> StandardResiduals => _fit.StandardResiduals;

    /// <summary>The fitted curve, with the standard uncertainty that the parameters leave it.</summary>
    /// <param name="frequencyHz">Drive frequency, in Hz.</param>
    public UncertainValue At(double frequencyHz) => _fit.At(frequencyHz);
}
