namespace StreakTrack.Core.Fitting;

/// <summary>Ends of a profile-likelihood interval: where the sum of squares, minimised over all other parameters, has risen by a set
/// amount.</summary>
/// <remarks>
/// Bates and Watts, Nonlinear Regression Analysis and Its Applications, 1988, chapter 6 (from memory). The signed root of the rise is
/// nearly a
/// straight line in the parameter, so a few secant steps along it find the end.
/// </remarks>
internal static class ProfileInterval
{
    /// <summary>How near the root must come, by default.</summary>
    private const double RootTolerance = 1e-7;

    /// <summary>The two ends; infinite where the rise is not reached, the bound where it is not reached before that.</summary>
    /// <param name="newProfile">
    /// Makes a profile for one side: the root of the rise in variances at a value of the parameter, all others refitted, starting from
    /// the
    /// last ones found; NaN where that fit fails.
    /// </param>
    /// <param name="estimate">The parameter at the minimum.</param>
    /// <param name="standardUncertainty">Its standard uncertainty, for the first guess.</param>
    /// <param name="quantile">The root wanted: a quantile of the distribution, such as Student's t.</param>
    /// <param name="lowerBound">Smallest value allowed; minus infinity for none.</param>
    /// <param name="tolerance">How near the root must come to the quantile, in standard uncertainties.</param>
    public static (double Lower, double Upper) Find(
        Func<Func<double, double>> newProfile, double estimate, double standardUncertainty, double quantile,
        double lowerBound = double.NegativeInfinity, double tolerance = RootTolerance)
    {
        return (End(-1), End(1));

        double End(int side)
        {
            Func<double, double> profile = newProfile();
            double inside = estimate, insideRoot = 0;
            double outside = double.NaN, outsideRoot = double.NaN;
            double candidate = inside + side * quantile * standardUncertainty;
            for (int i = 0; i < 60; i++)
            {
                bool atBound = candidate <= lowerBound;
                if (atBound)
                    candidate = lowerBound;
                double root = profile(candidate);
                if (Math.Abs(root - quantile) < tolerance)
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
                    double rate = (insideRoot > 0 ? insideRoot : 1) / Math.Abs(inside - estimate);
                    double step = 1.05 * (quantile - insideRoot) / rate;
                    next = inside + side * Math.Min(step, 2 * Math.Abs(inside - estimate));
                    if (Math.Abs(next - estimate) > 1e4 * standardUncertainty)
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
    }
}
