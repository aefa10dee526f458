using StreakTrack.Core;

namespace StreakTrack.Imaging.Streaks;

/// <summary>A dot that moves from frame to frame where a streak was to be measured: flashing light, or exposures much shorter than a period,
/// sample the swing and show it slowed down, at the difference of the oscillation's frequency and the nearest multiple of the sampling's.</summary>
/// <param name="AliasHz">Frequency at which the dot is seen to move, in Hz.</param>
/// <param name="SwingMm">Amplitude of its swing before it decays, in mm; good to a tenth, because it goes with the time at which the decay
/// begins.</param>
/// <param name="TauSeconds">Decay time of the swing, in s, which is the oscillation's own: sampling leaves the envelope as it is. Null where
/// the swing does not decay within the clip.</param>
/// <param name="ResidualMm">Standard deviation of the dot's places about the decaying swing, in mm.</param>
/// <param name="Frames">Frames used.</param>
public sealed record MovingDot(UncertainValue AliasHz, double SwingMm, UncertainValue? TauSeconds, double ResidualMm, int Frames)
{
    /// <summary>A dot: half its length where it moves fastest, blur taken off, is below this share of the range of its places. A flash of
    /// a twentieth of a period leaves sin(pi / 20) = 0.16 of the amplitude, an exposure of a tenth 0.31...</summary>
    private const double DotShare = 0.25;

    /// <summary>...and these reach over this many spots on either side.</summary>
    private const double LeastRangeSigma = 5;

    /// <summary>Frames needed, and frames looked at: more would only cost time.</summary>
    private const int LeastFrames = 24, MostFrames = 900;

    /// <summary>The swing explains all but this share of the places' variance, or it is no swing.</summary>
    private const double LeastExplained = 0.8;

    /// <summary>Trial envelopes: decay times and switch times as shares of the clip; 0 stands for no decay.</summary>
    private static readonly double[] TauShares = [0, 0.1, 0.2, 0.4, 0.8], SwitchShares = [0, 0.12, 0.25, 0.4];

    private const int Nonlinear = 3;

    // A later switch and a faster decay stand in for each other.
    private static readonly int[][] Directions = [[1, 0, 0], [0, 1, 0], [0, 0, 1], [0, 1, 1], [0, 1, -1]];

    /// <summary>Looks whether the streaks are a moving dot, and at what frequency it moves.</summary>
    /// <param name="streaks">The streaks by threshold.</param>
    /// <param name="timesSeconds">The frames' times.</param>
    /// <param name="placeMm">The reading of a place along the strip.</param>
    /// <param name="sigmaPx">The spot's standard deviation.</param>
    /// <returns>The dot; null when these are streaks, or nothing that swings.</returns>
    internal static MovingDot? Of(
        IReadOnlyList<CoarseStreak?> streaks, IReadOnlyList<double> timesSeconds, Func<double, double> placeMm, double sigmaPx)
    {
        var times = new List<double>();
        var places = new List<double>();
        var middles = new List<double>();
        var halves = new List<double>();
        for (int k = 0; k < streaks.Count && times.Count < MostFrames; k++)
        {
            if (streaks[k] is not CoarseStreak streak)
                continue;
            times.Add(timesSeconds[k] - timesSeconds[0]);
            places.Add(placeMm(streak.CentrePx));
            middles.Add(streak.CentrePx);
            halves.Add(streak.InnerHalfLengthPx(sigmaPx) - (0.5 * sigmaPx));
        }

        // A swing that dies away leaves a dot at rest, so its first part is looked at: the half of the frames with the farthest places.
        if (times.Count < LeastFrames || !(times[^1] > 0))
            return null;
        double rest = Medians.Upper(middles);
        int[] far = [.. Enumerable.Range(0, middles.Count).OrderByDescending(k => Math.Abs(middles[k] - rest)).Take(middles.Count / 2)];
        double range = Math.Abs(middles[far[far.Length / 4]] - rest), half = halves.Order().ElementAt(halves.Count * 9 / 10);
        if (!(range > LeastRangeSigma * sigmaPx && half < DotShare * range))
            return null;

        double[] t = [.. times], x = [.. places];
        double mean = x.Average(), variance = x.Sum(v => (v - mean) * (v - mean));
        double[] best = Search(t, x);
        best = Refine(t, x, best);
        double squares = Linear(t, x, best, out double[] coefficients);
        if (!(squares < (1 - LeastExplained) * variance))
            return null;
        return Described(t, x, best, squares, coefficients);
    }

    // Parameters: frequency in Hz, decay rate in 1/s, switch time in s.
    private static double[] Search(double[] t, double[] x)
    {
        double length = t[^1], spacing = Medians.Spacing(t), step = 1 / (6 * length);
        int frequencies = (int)(0.5 / spacing / step);
        (double Squares, double[] At)[] bests = new (double, double[])[frequencies + 1];
        Parallel.For(1, frequencies + 1, n =>
        {
            bests[n] = (double.PositiveInfinity, []);
            foreach (double tau in TauShares)
            {
                foreach (double start in tau == 0 ? [0.0] : SwitchShares)
                {
                    double[] at = [n * step, tau == 0 ? 0 : 1 / (tau * length), start * length];
                    double squares = Linear(t, x, at, out _);
                    if (squares < bests[n].Squares)
                        bests[n] = (squares, at);
                }
            }
        });
        return bests.Skip(1).MinBy(b => b.Squares).At;
    }

    // Downhill by shrinking steps: three parameters, no derivative where the envelope has its kink.
    private static double[] Refine(double[] t, double[] x, double[] start)
    {
        double length = t[^1];
        double[] at = [.. start], step = [0.1 / length, 0.3 * Math.Max(start[1], 0.5 / length), 0.06 * length];
        double least = Linear(t, x, at, out _);
        for (int round = 0; round < 200 && step[0] > 1e-6 / length; round++)
        {
            bool better = false;
            foreach (int[] direction in Directions)
            {
                foreach (int sign in new[] { 1, -1 })
                {
                    double[] trial = [.. at.Select((v, p) => Math.Max(v + (sign * direction[p] * step[p]), 0))];
                    double squares = Linear(t, x, trial, out _);
                    if (squares < least)
                        (least, at, better) = (squares, trial, true);
                }
            }

            for (int p = 0; p < Nonlinear && !better; p++)
                step[p] /= 2;
        }

        return at;
    }

    // Least squares in x = c0 + e(t) (c1 cos + c2 sin) for given nonlinear parameters; the sum of squares left.
    private static double Linear(double[] t, double[] x, double[] at, out double[] coefficients)
    {
        double s0 = t.Length, c = 0, s = 0, cc = 0, cs = 0, ss = 0, y0 = 0, yc = 0, ys = 0, yy = 0;
        for (int k = 0; k < t.Length; k++)
        {
            (double u, double v) = Basis(t[k], at);
            c += u;
            s += v;
            cc += u * u;
            cs += u * v;
            ss += v * v;
            y0 += x[k];
            yc += x[k] * u;
            ys += x[k] * v;
            yy += x[k] * x[k];
        }

        // Means taken out, then two equations.
        double mean = y0 / s0;
        cc -= c * c / s0;
        cs -= c * s / s0;
        ss -= s * s / s0;
        yc -= c * mean;
        ys -= s * mean;
        double determinant = (cc * ss) - (cs * cs);
        if (!(determinant > 1e-9 * cc * ss))
        {
            coefficients = [mean, 0, 0];
            return yy - (y0 * mean);
        }

        double a = ((yc * ss) - (ys * cs)) / determinant, b = ((ys * cc) - (yc * cs)) / determinant;
        coefficients = [mean - (((a * c) + (b * s)) / s0), a, b];
        return Math.Max(yy - (y0 * mean) - (a * yc) - (b * ys), 0);
    }

    private static (double Cos, double Sin) Basis(double t, double[] at)
    {
        double envelope = Math.Exp(-at[1] * Math.Max(0, t - at[2]));
        (double s, double c) = Math.SinCos(2 * Math.PI * at[0] * t);
        return (envelope * c, envelope * s);
    }

    private static MovingDot Described(double[] t, double[] x, double[] at, double squares, double[] coefficients)
    {
        double swing = Math.Sqrt((coefficients[1] * coefficients[1]) + (coefficients[2] * coefficients[2]));
        int free = 3 + (at[1] > 0 ? Nonlinear : 1);
        double sd = Math.Sqrt(squares / Math.Max(1, t.Length - free));

        // Curvature of the sum of squares along each nonlinear parameter, the others and the linear ones refitted: the profile's own.
        double frequency = Uncertainty(t, x, at, 0, 0.02 / t[^1], squares, sd);
        bool decays = at[1] > 0 && 1 / at[1] < 10 * t[^1];
        UncertainValue? tau = null;
        if (decays)
        {
            double rate = Uncertainty(t, x, at, 1, 0.05 * at[1], squares, sd);
            tau = new UncertainValue(1 / at[1], rate / (at[1] * at[1]));
        }

        return new MovingDot(new UncertainValue(at[0], frequency), swing, tau, sd, t.Length);
    }

    private static double Uncertainty(double[] t, double[] x, double[] at, int parameter, double step, double squares, double sd)
    {
        double rise = 0;
        foreach (int sign in new[] { 1, -1 })
        {
            double[] moved = [.. at];
            moved[parameter] = Math.Max(moved[parameter] + (sign * step), 0);

            // The switch time goes with the rate.
            double least = double.PositiveInfinity;
            for (int n = -20; n <= 20; n++)
            {
                double[] trial = [.. moved];
                trial[2] = Math.Max(0, at[2] + (n * 0.005 * t[^1]));
                least = Math.Min(least, Linear(t, x, trial, out _));
            }

            rise += Math.Max(least - squares, 0) / 2;
        }

        return rise > 0 ? step * sd / Math.Sqrt(rise) : double.PositiveInfinity;
    }
}
