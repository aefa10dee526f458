namespace StreakTrack.Core.Fitting;

/// <summary>How the parameters of a fit move when something that it took for granted is moved by one standard uncertainty.</summary>
/// <remarks>The weights stay as they are: what is moved is known to be wrong by a common amount, and says nothing new of the scatter.</remarks>
internal static class FitSensitivity
{
    /// <summary>How much an offset that is common to all amplitudes may differ between the middle of their range and its ends, as a share of it: what a lens,
    /// a codec and a spot's tails do to an end is not quite the same for long streaks and for short ones, nor for a streak that grows and one that rests.
    /// Less leaves the decay times of simulated rises off by more than their uncertainties.</summary>
    private const double BowShare = 0.8;

    /// <summary>Half the difference of each parameter between the fits to amplitudes that are larger and smaller by an offset, and, because some
    /// motions swallow a constant one in their switch time or floor, by one that is bowed over their range; the two as root of the sum of
    /// squares.</summary>
    /// <param name="fit">A fit that converged.</param>
    /// <param name="offsetMm">The offset, in mm.</param>
    /// <returns>One number a parameter of the fit, not negative; infinite where the fit is lost when the amplitudes are moved.</returns>
    public static double[] ToOffset(EnvelopeFit fit, double offsetMm)
    {
        EnvelopeProblem problem = fit.Problem!;
        double largest = problem.Points.Amplitudes.Max();
        double[] constant = MovedBy(_ => offsetMm), bowed = MovedBy(a => 4 * BowShare * offsetMm * (a / largest) * (1 - (a / largest)));
        return [.. constant.Zip(bowed, (c, b) => Math.Sqrt((c * c) + (b * b)))];

        double[] MovedBy(Func<double, double> error) => Half(fit, problem, side => problem.WithPoints(
            problem.Points.WithAmplitudes([.. problem.Points.Amplitudes.Select(amplitude => amplitude + (side * error(amplitude)))])));
    }

    /// <summary>Half the difference of each parameter between the fits with a later and an earlier switch.</summary>
    /// <param name="fit">A fit that converged, with t0 held.</param>
    /// <param name="timeUncertaintySeconds">How much later and earlier, in s.</param>
    /// <returns>One number a parameter of the fit, that of t0 itself included; infinite where the fit is lost when the switch is
    /// moved.</returns>
    public static double[] ToSwitchTime(EnvelopeFit fit, double timeUncertaintySeconds)
    {
        EnvelopeProblem problem = fit.Problem!;
        int t0 = fit.Parameters.Count - 1;
        return Half(fit, problem, side => problem.Holding(t0, fit.Parameters[t0].Value + side * timeUncertaintySeconds));
    }

    private static double[] Half(EnvelopeFit fit, EnvelopeProblem problem, Func<int, EnvelopeProblem> moved)
    {
        double[] estimate = [.. fit.Parameters.Select(parameter => parameter.Value)];
        double[]? up = Solved(+1), down = Solved(-1);
        return [.. estimate.Select((value, j) => (up, down) switch
        {
            (not null, not null) => (up[j] - down[j]) / 2,
            (not null, null) => up[j] - value,
            (null, not null) => value - down[j],
            _ => problem.Free.Contains(j) ? double.PositiveInfinity : 0,
        })];

        double[]? Solved(int side)
        {
            EnvelopeProblem other = moved(side);
            LeastSquaresResult result = other.Solve(estimate);
            return result.Converged ? other.Full(result.Parameters) : null;
        }
    }
}
