namespace StreakTrack.Imaging.Streaks;

/// <summary>The phase of the swing in every frame, from where the light's middle lies.</summary>
/// <remarks>
/// An exposure of rho periods has its light's middle at c + A sinc(rho) cos(psi), psi the phase at mid-exposure, and psi advances evenly
/// from frame to frame. Sampled once a frame, the advance is known modulo the frame rate and up to its sign alone; a streak looks the same
/// for psi and -psi, so neither is needed. With a shutter that rolls along the streak the middle goes with the phase as
/// <see cref="RollingMiddle"/> says.
/// </remarks>
internal sealed class PhaseTrack
{
    /// <summary>Frames among which the advance is looked for, at most.</summary>
    private const int MostFrames = 512;

    /// <summary>Width of the window in which a frame's phase is told, as the standard deviation of a Gaussian, in frames: amplitude and
    /// frequency may change in proportion to time within it.</summary>
    private const double WindowFrames = 5;

    /// <summary>Chance that noise alone would show an advance, from which one is believed.</summary>
    private const double FalseAlarm = 1e-3;

    /// <summary>Least standard deviation of a phase, in rad: motion that is not quite harmonic. Where it cannot be held against the frames
    /// themselves, and where the shutter rolls along the streak, so that overtones and the row phase come in, it is larger.</summary>
    private const double LeastPhaseSd = 0.005;

    /// <summary>The same where the frames do not tell how far single phases scatter, or the shutter rolls along the streak; in rad.</summary>
    public const double LeastUncheckedSdRad = 0.1;

    /// <summary>Standard deviation of a phase, in rad, up to which the size of the middles' swing is told too.</summary>
    private const double TellingSd = 0.3;

    private readonly double[] _sizesPx;

    /// <summary>Frames needed on either side to tell how far single phases scatter.</summary>
    private const int LeastCompared = 12;

    /// <summary>Half length, in sigma, from which a frame tells the advance.</summary>
    private const double LongSwing = 3;

    private PhaseTrack(int count, double aliasHz, double aliasUncertaintyHz, double middlePx, double middleUncertaintyPx)
    {
        _sizesPx = new double[count];
        AliasHz = aliasHz;
        AliasUncertaintyHz = aliasUncertaintyHz;
        MiddlePx = middlePx;
        MiddleUncertaintyPx = middleUncertaintyPx;
        MidPhaseRad = new double[count];
        PhaseSdRad = new double[count];
    }

    /// <summary>Frequency of the swing folded to 0 .. half of the frame rate, in Hz.</summary>
    public double AliasHz { get; }

    /// <summary>Standard uncertainty of <see cref="AliasHz"/>.</summary>
    public double AliasUncertaintyHz { get; }

    /// <summary>What the middles of the light swing about, in px along the strip: the middle of the swing.</summary>
    public double MiddlePx { get; }

    /// <summary>Standard uncertainty of <see cref="MiddlePx"/>.</summary>
    public double MiddleUncertaintyPx { get; }

    /// <summary>By how much the middles swing, as a share of the half lengths: |sin(pi rho) / (pi rho)| for exposures of rho periods. The upper
    /// quartile over the frames that tell: the exposure may change in mid-clip.</summary>
    public double SwingShare { get; private set; } = double.NaN;

    /// <summary>Phase at mid-exposure of each frame, up to its sign; NaN where it cannot be told.</summary>
    public double[] MidPhaseRad { get; }

    /// <summary>Standard deviation of each phase.</summary>
    public double[] PhaseSdRad { get; }

    /// <summary>Follows the phase; null where no even advance is seen.</summary>
    /// <param name="timesSeconds">Times of the frames.</param>
    /// <param name="middlesPx">Middle of the light in each frame; NaN where there is none.</param>
    /// <param name="roughHalfPx">Half length of the swing in each frame, roughly.</param>
    /// <param name="sigmaPx">The spot's standard deviation.</param>
    /// <param name="periods">Length of the exposure in periods.</param>
    /// <param name="rolling">What a shutter that rolls along the streak does to the middles; null where all places are exposed at the same
    /// time.</param>
    public static PhaseTrack? Of(
        IReadOnlyList<double> timesSeconds, double[] middlesPx, double[] roughHalfPx, double sigmaPx, double periods,
        RollingMiddle? rolling = null)
    {
        int[] seen =
        [
            .. Enumerable.Range(0, middlesPx.Length).Where(
                k => double.IsFinite(middlesPx[k]) && roughHalfPx[k] > LongSwing * sigmaPx && double.IsFinite(timesSeconds[k])),
        ];
        if (seen.Length < 3 * WindowFrames)
            return null;
        double spacing = Medians.Spacing(timesSeconds);
        if (!(spacing > 0))
            return null;

        // The stretch of the clip with the most light to tell it.
        int[] most = Brightest(seen, roughHalfPx);
        double duration = timesSeconds[most[^1]] - timesSeconds[most[0]];
        double step = 0.2 / duration, highest = 0.5 / spacing;
        (double Hz, Harmonic Fit) best = (double.NaN, default);
        for (double hz = step; hz <= highest + step; hz += step)
        {
            Harmonic fit = FitAt(hz);
            if (double.IsNaN(best.Hz) || fit.Residual < best.Fit.Residual)
                best = (hz, fit);
        }

        for (double fine = step / 2; fine > 1e-3 * step; fine /= 2)
        {
            foreach (double hz in new[] { best.Hz - fine, best.Hz + fine })
            {
                Harmonic fit = FitAt(hz);
                if (fit.Residual < best.Fit.Residual)
                    best = (hz, fit);
            }
        }

        // Chance that the best of as many frequencies as there are frames to two takes away this much of noise.
        double left = best.Fit.Residual / best.Fit.Total;
        if (!(0.5 * most.Length * Math.Pow(left, (most.Length - 3) / 2.0) < FalseAlarm))
            return null;

        // Uncertainty of the frequency of a harmonic in white noise (Rife and Boorstyn 1974): sqrt(6) sd / (pi amplitude duration sqrt N).
        double sd = Math.Sqrt(best.Fit.Residual / Math.Max(1, most.Length - 4));
        double uncertainty = Math.Sqrt(6.0 / most.Length) * sd / (Math.PI * best.Fit.AmplitudePx * duration);
        var track = new PhaseTrack(middlesPx.Length, best.Hz, uncertainty, best.Fit.Middle, sd / Math.Sqrt(most.Length));
        double painted = Math.PI * periods, narrowing = painted > 0 && rolling is null ? Math.Sin(painted) / painted : 1;
        double[] departures = new double[middlesPx.Length];
        for (int k = 0; k < middlesPx.Length; k++)
            departures[k] = track.Tell(k, timesSeconds, middlesPx, best.Fit.Middle, spacing, narrowing);
        double[] shares = [.. seen.Where(k => track.PhaseSdRad[k] < TellingSd).Select(k => track._sizesPx[k] / roughHalfPx[k]).Order()];
        track.SwingShare = shares.Length > 0 ? shares[shares.Length * 3 / 4] : double.NaN;
        double single = track.SingleSd(departures, seen);
        double least = rolling is null && double.IsFinite(single) ? LeastPhaseSd : LeastUncheckedSdRad;
        for (int k = 0; k < middlesPx.Length; k++)
        {
            double common = track.PhaseSdRad[k], own = double.IsFinite(single) ? single : 0;
            track.PhaseSdRad[k] = Math.Max(least, Math.Sqrt((common * common) + (own * own)));
            if (rolling is not null)
                track.MidPhaseRad[k] = rolling.MidPhaseRad(track.MidPhaseRad[k], roughHalfPx[k]);
        }

        return track;

        Harmonic FitAt(double hz) => Harmonic.Of(hz, most, timesSeconds, middlesPx, roughHalfPx);
    }

    // How far the phases of single frames scatter about the even advance: frame times that are rounded, exposures that begin unevenly. Such a
    // scatter moves the middle of the light where the swing is fast, and not where it turns; noise moves it everywhere. NaN where it cannot be told.
    private double SingleSd(double[] departures, int[] seen)
    {
        double[] Scatter(Func<double, bool> wanted) =>
            [.. seen.Where(k => double.IsFinite(departures[k]) && wanted(Math.Abs(Math.Sin(MidPhaseRad[k])))).Select(k => Math.Abs(departures[k])).Order()];
        double[] fast = Scatter(sin => sin > 0.8), slow = Scatter(sin => sin < 0.5);
        if (fast.Length < LeastCompared || slow.Length < LeastCompared)
            return double.NaN;

        // 0.6745 is the median of the absolute value of a standard normal variable. Of the squared sines the one group has on average 0.87, the
        // other 0.09.
        double a = fast[fast.Length / 2] / 0.6745, b = slow[slow.Length / 2] / 0.6745;
        return Math.Sqrt(Math.Max(0, (a * a) - (b * b)) / (0.87 - 0.09));
    }

    // A harmonic of the track's frequency, whose two parts change in proportion to time, through the frames around. Returns by how much the frame
    // itself departs from it, as a share of the harmonic.
    private double Tell(int frame, IReadOnlyList<double> times, double[] middles, double middle, double spacing, double narrowing)
    {
        const int n = 4;
        Span<double> normal = stackalloc double[n * n], right = stackalloc double[n], row = stackalloc double[n], parts = stackalloc double[n];
        Span<bool> free = [true, true, true, true];
        (MidPhaseRad[frame], PhaseSdRad[frame]) = (double.NaN, double.PositiveInfinity);
        int reach = (int)(3 * WindowFrames);
        int from = Math.Max(0, frame - reach), to = Math.Min(middles.Length - 1, frame + reach);
        double squares = 0, weights = 0, squaredWeights = 0;
        for (int k = from; k <= to; k++)
        {
            double weight = Weight(k, row);
            if (weight == 0)
                continue;
            double y = middles[k] - middle;
            weights += weight;
            squaredWeights += weight * weight;
            squares += weight * y * y;
            for (int a = 0; a < n; a++)
            {
                right[a] += weight * row[a] * y;
                for (int b = 0; b <= a; b++)
                    normal[(a * n) + b] += weight * row[a] * row[b];
            }
        }

        double independent = squaredWeights > 0 ? weights * weights / squaredWeights : 0;
        if (independent < n + 2 || !SmallSystem.TrySolve(normal, right, free, 0, parts))
            return double.NaN;
        double residual = squares;
        for (int a = 0; a < n; a++)
            residual -= parts[a] * right[a];
        double variance = Math.Max(0, residual) / weights * independent / (independent - n);
        (double x, double y0) = (parts[0], -parts[1]);
        double size = Math.Sqrt((x * x) + (y0 * y0));
        double worst = Math.Max(SmallSystem.InverseDiagonal(normal, free, 0), SmallSystem.InverseDiagonal(normal, free, 1));
        if (!(size > 0) || !double.IsFinite(worst))
            return double.NaN;
        MidPhaseRad[frame] = Math.Atan2(y0 * Math.Sign(narrowing), x * Math.Sign(narrowing));
        PhaseSdRad[frame] = Math.Sqrt(variance * worst) / size;
        _sizesPx[frame] = size;
        return (middles[frame] - middle - x) / size;

        double Weight(int k, Span<double> at)
        {
            if (!double.IsFinite(middles[k]) || !double.IsFinite(times[k]))
                return 0;
            double since = times[k] - times[frame], inWindows = since / (WindowFrames * spacing);
            (double sin, double cos) = Math.SinCos(2 * Math.PI * AliasHz * since);
            (at[0], at[1], at[2], at[3]) = (cos, sin, inWindows * cos, inWindows * sin);
            return Math.Exp(-0.5 * inWindows * inWindows);
        }
    }

    // Of the frames seen, as many in a row as are looked at, where the swings are longest: the sum of the squared half lengths is largest.
    private static int[] Brightest(int[] seen, double[] halfPx)
    {
        if (seen.Length <= MostFrames)
            return seen;
        double[] upTo = new double[seen.Length + 1];
        for (int i = 0; i < seen.Length; i++)
            upTo[i + 1] = upTo[i] + (halfPx[seen[i]] * halfPx[seen[i]]);
        int best = Enumerable.Range(0, seen.Length - MostFrames + 1).MaxBy(from => upTo[from + MostFrames] - upTo[from]);
        return seen[best..(best + MostFrames)];
    }

    /// <summary>A harmonic whose size goes with the swing's, about a middle, by least squares.</summary>
    private readonly record struct Harmonic(double Middle, double AmplitudePx, double Residual, double Total)
    {
        public static Harmonic Of(double hz, int[] frames, IReadOnlyList<double> times, double[] middles, double[] sizes)
        {
            const int n = 3;
            Span<double> normal = stackalloc double[n * n], right = stackalloc double[n], row = stackalloc double[n];
            Span<double> parts = stackalloc double[n];
            Span<bool> free = [true, true, true];
            double reference = middles[frames[0]], squares = 0, sum = 0, size = 0;
            foreach (int k in frames)
            {
                double y = middles[k] - reference;
                (double sin, double cos) = Math.SinCos(2 * Math.PI * hz * (times[k] - times[frames[0]]));
                (row[0], row[1], row[2]) = (1, sizes[k] * cos, sizes[k] * sin);
                sum += y;
                squares += y * y;
                size += sizes[k] / frames.Length;
                for (int a = 0; a < n; a++)
                {
                    right[a] += row[a] * y;
                    for (int b = 0; b <= a; b++)
                        normal[(a * n) + b] += row[a] * row[b];
                }
            }

            double total = squares - (sum * sum / frames.Length), residual = squares;
            if (!SmallSystem.TrySolve(normal, right, free, 0, parts))
                return new Harmonic(reference, 0, total, total);
            for (int a = 0; a < n; a++)
                residual -= parts[a] * right[a];
            double amplitude = size * Math.Sqrt((parts[1] * parts[1]) + (parts[2] * parts[2]));
            return new Harmonic(reference + parts[0], amplitude, Math.Max(residual, 1e-12 * total), total);
        }
    }
}
