using MathNet.Numerics;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>A least-squares fit of a curve to a small table, with the statistics that every study reports.</summary>
internal sealed class CurveFit
{
    private const double Probability = 0.95;

    /// <summary>
    /// Effort for one start or one point of a profile: a small table that fits at all does so in tens of iterations, and one that does
    /// not, such
    /// as noise, should not be tried for long.
    /// </summary>
    private static readonly LeastSquaresOptions Effort = new() { MaxIterations = 100, MaxAttempts = 1 };

    private readonly CurveFunction _curve;
    /// <summary>
    /// Probability of so large a chi-square below which stated uncertainties are too small. A small one is no reason to cut them: they may hold
    /// what all points share, a scale or a ruler, which does not scatter.
    /// </summary>
    public const double ScatterBeyond = 0.025;

    private readonly double[] _x;
    private readonly double[] _y;
    private readonly double[] _sigma;

    private CurveFit(CurveFunction curve, double[] x, double[] y, double[]? sigma, LeastSquaresResult minimum, UncertaintyScaling scaling)
    {
        _curve = curve;
        _x = x;
        _y = y;
        _sigma = sigma ?? [.. x.Select(_ => 1.0)];
        Minimum = minimum;
        HasUncertainties = sigma is not null;
        DegreesOfFreedom = x.Length - minimum.Parameters.Length;
        ChiSquareProbability = HasUncertainties && DegreesOfFreedom > 0
            ? SpecialFunctions.GammaUpperRegularized(DegreesOfFreedom / 2.0, minimum.SumOfSquares / 2) : double.NaN;
        IsScaled = !HasUncertainties || scaling == UncertaintyScaling.Scaled
            || (scaling == UncertaintyScaling.Auto && ChiSquareProbability < ScatterBeyond);
        Variance = IsScaled ? (DegreesOfFreedom > 0 ? minimum.SumOfSquares / DegreesOfFreedom : double.NaN) : 1;
        Covariance = minimum.Covariance(Variance);
        Residuals = [.. x.Select((at, i) => y[i] - curve(at, minimum.Parameters, []))];
        StandardResiduals = [.. Residuals.Select((r, i) => r / (_sigma[i] * Math.Sqrt(Variance)))];
    }

    public LeastSquaresResult Minimum { get; }

    public bool HasUncertainties { get; }

    public bool IsScaled { get; }

    public int DegreesOfFreedom { get; }

    public double ChiSquareProbability { get; }

    /// <summary>Factor on the stated variances: 1 when they are taken at their word.</summary>
    public double Variance { get; }

    public double[,] Covariance { get; }

    public double[] Residuals { get; }

    public double[] StandardResiduals { get; }

    /// <summary>Akaike's corrected criterion.</summary>
    /// <param name="varianceKnown">Whether the stated uncertainties count; otherwise the variance is one more parameter.</param>
    /// <returns>Infinite when there are too few points for the correction.</returns>
    public double Aicc(bool varianceKnown)
    {
        int n = _x.Length;
        int k = Minimum.Parameters.Length + (varianceKnown ? 0 : 1);
        double deviance = varianceKnown ? Minimum.SumOfSquares : n * Math.Log(Minimum.SumOfSquares / n);
        return n > k + 1 ? deviance + (2.0 * k) + (2.0 * k * (k + 1) / (n - k - 1)) : double.PositiveInfinity;
    }

    /// <summary>Fits from several starting points and keeps the best minimum.</summary>
    /// <param name="curve">The curve.</param>
    /// <param name="x">Abscissas, at least as many as parameters.</param>
    /// <param name="y">Ordinates.</param>
    /// <param name="sigma">Standard uncertainties, positive; null when they are not known.</param>
    /// <param name="starts">Starting points.</param>
    /// <param name="scaling">Whether the uncertainties are taken at their word.</param>
    /// <param name="cancellation">Ends the work.</param>
    /// <returns>The fit; null when no starting point led to a minimum.</returns>
    public static CurveFit? From(
        CurveFunction curve, double[] x, double[] y, double[]? sigma, IEnumerable<double[]> starts, UncertaintyScaling scaling,
        CancellationToken cancellation)
    {
        ResidualFunction residuals = ResidualsOf(curve, x, y, sigma, null);
        LeastSquaresResult? best = null;
        foreach (double[] start in starts.Where(start => start.All(double.IsFinite)))
        {
            LeastSquaresResult found = NonlinearLeastSquares.Minimize(residuals, x.Length, start, Effort, cancellation);
            if (found.Converged && (best is null || found.SumOfSquares < best.SumOfSquares))
                best = found;
        }

        return best is null ? null : new CurveFit(curve, x, y, sigma, best, scaling);
    }

    /// <summary>The estimate of one parameter with both of its intervals.</summary>
    public StudyParameter Parameter(int index, string name, string meaning, CancellationToken cancellation)
    {
        double value = Minimum.Parameters[index];
        double u = Math.Sqrt(Covariance[index, index]);
        double k = CoverageFactorOrNaN();
        (double low, double high) = k * u > 0 && double.IsFinite(k * u)
            ? ProfileInterval.Find(() => ProfileOf(index, cancellation), value, u, k) : (double.NaN, double.NaN);
        return new StudyParameter(name, meaning, new UncertainValue(value, u), new CoverageInterval(value - (k * u), value + (k * u)),
            new CoverageInterval(low, high));
    }

    /// <summary>A quantity that follows from the parameters, with its first-order standard uncertainty.</summary>
    /// <param name="function">The relation.</param>
    public UncertainValue Derived(Func<double[], double> function)
    {
        double[] at = Minimum.Parameters;
        double[] moved = [.. at];
        double[] gradient = new double[at.Length];
        for (int i = 0; i < at.Length; i++)
        {
            // A small part of the standard uncertainty: the relation is straight over it, and the difference keeps enough digits.
            double h = 1e-3 * Math.Sqrt(Covariance[i, i]);
            if (!(h > 0))
                h = 1e-6 * Math.Max(Math.Abs(at[i]), 1e-6);
            double At(double steps)
            {
                moved[i] = at[i] + (steps * h);
                return function(moved);
            }

            gradient[i] = ((8 * (At(1) - At(-1))) - (At(2) - At(-2))) / (12 * h);
            moved[i] = at[i];
        }

        return new UncertainValue(function(at), Math.Sqrt(QuadraticForm(gradient)));
    }

    /// <summary>The curve at a place with the standard uncertainty that the parameters leave it.</summary>
    public UncertainValue At(double x)
    {
        double[] gradient = new double[Minimum.Parameters.Length];
        double value = _curve(x, Minimum.Parameters, gradient);
        return new UncertainValue(value, Math.Sqrt(QuadraticForm(gradient)));
    }

    private double QuadraticForm(double[] gradient)
    {
        double sum = 0;
        for (int i = 0; i < gradient.Length; i++)
        {
            for (int j = 0; j < gradient.Length; j++)
                sum += gradient[i] * Covariance[i, j] * gradient[j];
        }

        return Math.Max(0, sum);
    }

    private double CoverageFactorOrNaN() => !IsScaled ? CoverageFactor.TwoSided(Probability, double.PositiveInfinity)
        : DegreesOfFreedom > 0 ? CoverageFactor.TwoSided(Probability, DegreesOfFreedom) : double.NaN;

    /// <summary>Root of the rise of the sum of squares, in variances, against one parameter, the others refitted; NaN where that
    /// fails.</summary>
    private Func<double, double> ProfileOf(int index, CancellationToken cancellation)
    {
        double[] warm = [.. Minimum.Parameters.Where((_, j) => j != index)];
        return value =>
        {
            cancellation.ThrowIfCancellationRequested();
            double sum;
            if (warm.Length == 0)
            {
                sum = _x.Select((x, i) => (_curve(x, [value], []) - _y[i]) / _sigma[i]).Sum(r => r * r);
            }
            else
            {
                ResidualFunction held = ResidualsOf(_curve, _x, _y, _sigma, (index, value));
                LeastSquaresResult found = NonlinearLeastSquares.MinimizeNearby(held, _x.Length, warm, Effort, cancellation);
                if (!found.Converged)
                    return double.NaN;
                warm = found.Parameters;
                sum = found.SumOfSquares;
            }

            return Math.Sqrt(Math.Max(0, sum - Minimum.SumOfSquares) / Variance);
        };
    }

    /// <summary>Residuals over sigma, with one parameter held where wanted.</summary>
    private static ResidualFunction ResidualsOf(
        CurveFunction curve, double[] x, double[] y, double[]? sigma, (int Index, double Value)? held)
    {
        return Residuals;

        bool Residuals(ReadOnlySpan<double> free, Span<double> residuals, Span<double> jacobian)
        {
            int count = free.Length + (held is null ? 0 : 1);
            Span<double> parameters = stackalloc double[count];
            Span<double> gradient = stackalloc double[count];
            for (int j = 0, k = 0; j < count; j++)
                parameters[j] = held?.Index == j ? held.Value.Value : free[k++];
            for (int i = 0; i < x.Length; i++)
            {
                double weight = sigma is null ? 1 : 1 / sigma[i];
                double value = curve(x[i], parameters, jacobian.IsEmpty ? [] : gradient);
                if (!double.IsFinite(value))
                    return false;
                residuals[i] = (value - y[i]) * weight;
                for (int j = 0, k = 0; j < count && !jacobian.IsEmpty; j++)
                {
                    if (held?.Index != j)
                        jacobian[(k++ * x.Length) + i] = gradient[j] * weight;
                }
            }

            return true;
        }
    }
}
