using StreakTrack.Core.Findings;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>A straight line y = intercept + slope x through measured points.</summary>
/// <remarks>
/// Uncertainties are standard uncertainties. They come from the points' own uncertainties, or from the scatter of the points about the
/// line where
/// those are not known or do not match it; <see cref="IsScaled"/> tells which.
/// </remarks>
public sealed record StraightLine
{
    /// <summary>Value of the line at x = 0; exactly 0 for a line through the origin.</summary>
    public required UncertainValue Intercept { get; init; }

    /// <summary>Slope of the line.</summary>
    public required UncertainValue Slope { get; init; }

    /// <summary>Covariance of intercept and slope.</summary>
    public required double Covariance { get; init; }

    /// <summary>Points that the line was fitted to.</summary>
    public required int Points { get; init; }

    /// <summary>Points minus parameters.</summary>
    public required int DegreesOfFreedom { get; init; }

    /// <summary>Weighted sum of the squared distances from the line; without known uncertainties the plain sum of squared
    /// residuals.</summary>
    public required double ChiSquare { get; init; }

    /// <summary>Whether the points carried uncertainties.</summary>
    public required bool HasUncertainties { get; init; }

    /// <summary>Whether the uncertainties were scaled with the scatter about the line.</summary>
    public required bool IsScaled { get; init; }

    /// <summary>
    /// Probability of a chi-square at least as large if the stated uncertainties are right and the line is straight; NaN without
    /// uncertainties.
    /// </summary>
    public required double ChiSquareProbability { get; init; }

    /// <summary>
    /// Probability of seeing a bend at least as strong if the line is straight, from the quadratic term that would improve the fit;
    /// NaN for
    /// fewer than four points or a line through the origin.
    /// </summary>
    public required double BendProbability { get; init; }

    /// <summary>Y minus the line, for each point.</summary>
    public required IReadOnlyList<double> Residuals { get; init; }

    /// <summary>Residual over its standard uncertainty (of both coordinates, seen along y), for each point.</summary>
    public required IReadOnlyList<double> StandardResiduals { get; init; }

    /// <summary>Doubts about the line.</summary>
    public IReadOnlyList<Finding> Findings { get; init; } = [];

    /// <summary>Standard deviation of the points about the line: the root of chi-square over the degrees of freedom.</summary>
    public double ResidualDeviation => Math.Sqrt(ChiSquare / DegreesOfFreedom);

    /// <summary>Correlation coefficient of intercept and slope.</summary>
    public double Correlation => Covariance / (Intercept.StandardUncertainty * Slope.StandardUncertainty);

    /// <summary>Degrees of freedom of the uncertainties: those of the fit when they come from the scatter, infinite when they were
    /// stated.</summary>
    public double UncertaintyDegreesOfFreedom => IsScaled ? DegreesOfFreedom : double.PositiveInfinity;

    /// <summary>Interval of the intercept.</summary>
    /// <param name="probability">Coverage probability. Default 0.95.</param>
    public CoverageInterval InterceptInterval(double probability = 0.95) => IntervalOf(Intercept, probability);

    /// <summary>Interval of the slope.</summary>
    /// <param name="probability">Coverage probability. Default 0.95.</param>
    public CoverageInterval SlopeInterval(double probability = 0.95) => IntervalOf(Slope, probability);

    /// <summary>The line's value at a place, with the standard uncertainty of the line there (not of a new point).</summary>
    /// <param name="x">The place.</param>
    public UncertainValue At(double x) =>
        new(Intercept.Value + (Slope.Value * x), Math.Sqrt(Math.Max(0, Square(Intercept.StandardUncertainty)
            + (2 * x * Covariance) + Square(x * Slope.StandardUncertainty))));

    /// <summary>Where the line crosses y = 0, with its first-order standard uncertainty; NaN for a slope of 0.</summary>
    public UncertainValue ZeroCrossing
    {
        get
        {
            double x = -Intercept.Value / Slope.Value;
            return double.IsFinite(x)
                ? new UncertainValue(x, At(x).StandardUncertainty / Math.Abs(Slope.Value))
                : new UncertainValue(double.NaN, double.NaN);
        }
    }

    /// <summary>
    /// Interval of the zero crossing after Fieller: all places where the line's value is compatible with 0. Unlike the first-order
    /// uncertainty it holds for a weakly determined slope too.
    /// </summary>
    /// <param name="probability">Coverage probability. Default 0.95.</param>
    /// <returns>The interval; both ends infinite when the slope itself is compatible with 0.</returns>
    public CoverageInterval ZeroCrossingInterval(double probability = 0.95)
    {
        // (a + b x)² = k² (u_a² + 2 c x + u_b² x²): a quadratic in x.
        double k2 = Square(CoverageFactor.TwoSided(probability, UncertaintyDegreesOfFreedom));
        double second = Square(Slope.Value) - (k2 * Square(Slope.StandardUncertainty));
        double half = (Intercept.Value * Slope.Value) - (k2 * Covariance);
        double constant = Square(Intercept.Value) - (k2 * Square(Intercept.StandardUncertainty));
        double root = Math.Sqrt((half * half) - (second * constant));
        return second > 0 && double.IsFinite(root)
            ? new CoverageInterval((-half - root) / second, (-half + root) / second)
            : new CoverageInterval(double.NegativeInfinity, double.PositiveInfinity);
    }

    private CoverageInterval IntervalOf(UncertainValue value, double probability)
    {
        double u = CoverageFactor.TwoSided(probability, UncertaintyDegreesOfFreedom) * value.StandardUncertainty;
        return new CoverageInterval(value.Value - u, value.Value + u);
    }

    private static double Square(double x) => x * x;
}
