namespace StreakTrack.Core.Fitting;

/// <summary>Ends of a profile-likelihood interval: where the sum of squares, minimised over all other parameters, has risen by a set amount.</summary>
/// <remarks>
/// Bates and Watts, Nonlinear Regression Analysis and Its Applications, 1988, chapter 6 (from memory). The signed root of the rise is nearly a
/// straight line in the parameter, so a few secant steps along it find the end.
/// </remarks>
internal static class ProfileInterval
{
    private const double RootTolerance = 1e-7;

    /// <summary>The two ends; infinite where the rise is not reached, the bound where it is not reached before that.</summary>
    /// <param name="problem">The problem.</param>
    /// <param name="estimate">Its minimum, full parameters.</param>
    /// <param name="minimum">Sum of squares at the minimum.</param>
    /// <param name="index">Which parameter, in the full vector.</param>
    /// <param name="standardUncertainty">Its standard uncertainty, for the first guess.</param>
    /// <param name="variance">Variance of the residuals.</param>
    /// <param name="quantile">Quantile of the distribution, such as Student's t.</param>
    /// <param name="lowerBound">Smallest value allowed.</param>
    public static (double Lower, double Upper) Find(
        EnvelopeProblem problem, double[] estimate, double minimum, int index, double standardUncertainty, double variance, double quantile,
        double lowerBound)
    {
        return (End(-1), End(1));

        double End(int side)
        {
            double[] warm = estimate;
            double inside = estimate[index], insideRoot = 0;
            double outside = double.NaN, outsideRoot = double.NaN;
            double candidate = inside + side * quantile * standardUncertainty;
            for (int i = 0; i < 60; i++)
            {
                bool atBound = candidate <= lowerBound;
                if (atBound)
                    candidate = lowerBound;
                double root = Root(candidate, ref warm);
                if (Math.Abs(root - quantile) < RootTolerance)
                    return candidate;
                if (root < quantile)
                {
                    if (atBound)
                        return lowerBound;
                    (inside, insideRoot) = (candidate, root);
                }
                else
                {
                    // A failed fit gives NaN: it counts as outside, with no root to interpolate with.
                    (outside, outsideRoot) = (candidate, root);
                }

                double next;
                if (double.IsNaN(outside))
                {
                    double rate = (insideRoot > 0 ? insideRoot : 1) / Math.Abs(inside - estimate[index]);
                    double step = 1.05 * (quantile - insideRoot) / rate;
                    next = inside + side * Math.Min(step, 2 * Math.Abs(inside - estimate[index]));
                    if (Math.Abs(next - estimate[index]) > 1e4 * standardUncertainty)
                        return side * double.PositiveInfinity;
                }
                else if (double.IsNaN(outsideRoot))
                    next = (inside + outside) / 2;
                else
                {
                    next = inside + (outside - inside) * (quantile - insideRoot) / (outsideRoot - insideRoot);
                    double margin = 1e-3 * Math.Abs(outside - inside);
                    if (i > 6 && (i & 1) == 0)
                        next = (inside + outside) / 2;
                    else if (i > 3)
                        next = Math.Clamp(next, Math.Min(inside, outside) + margin, Math.Max(inside, outside) - margin);
                }

                if (next == candidate || Math.Abs(outside - inside) <= 1e-9 * standardUncertainty)
                    return double.IsNaN(outsideRoot) ? side * double.PositiveInfinity : next;
                candidate = next;
            }

            return side * double.PositiveInfinity;
        }

        double Root(double value, ref double[] warm)
        {
            EnvelopeProblem held = problem.Holding(index, value);
            if (held.Free.Count == 0)
            {
                double[] r = new double[problem.Points.Count];
                return held.Residuals([], r, []) ? Math.Sqrt(Math.Max(0, r.Sum(x => x * x) - minimum) / variance) : double.NaN;
            }

            LeastSquaresResult result = held.Solve(warm);
            if (!result.Converged)
                return double.NaN;
            warm = held.Full(result.Parameters);
            return Math.Sqrt(Math.Max(0, result.SumOfSquares - minimum) / variance);
        }
    }
}
