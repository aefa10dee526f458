namespace StreakTrack.Imaging.Streaks;

/// <summary>Whether exposures see only arcs of the swing, and where the swing then really ends.</summary>
/// <remarks>
/// An exposure shorter than a period often misses a turning point, and which one changes from frame to frame: the ends jump. The
/// farthest ends
/// of neighbouring frames together still show the whole swing, because the phase moves on; from them start the fits of the arcs.
/// </remarks>
internal sealed class ArcCoverage
{
    /// <summary>Neighbours on either side whose farthest ends are taken for the swing's.</summary>
    private const int Neighbours = 5;

    /// <summary>Share of frames that must fall short of their neighbours for the exposure to count as shorter than the swing.</summary>
    private const double ShortFrames = 0.1;

    private ArcCoverage(bool isPartial, double centrePx, double[] centresPx, double[] halfLengthPx)
    {
        IsPartial = isPartial;
        CentrePx = centrePx;
        CentresPx = centresPx;
        HalfLengthPx = halfLengthPx;
    }

    /// <summary>Whether the frames see only arcs.</summary>
    public bool IsPartial { get; }

    /// <summary>Middle of the swing, in px along the strip.</summary>
    public double CentrePx { get; }

    /// <summary>Middle of the swing in each frame: the same for all where they see only arcs.</summary>
    public double[] CentresPx { get; }

    /// <summary>The same by the median over neighbouring frames: what an oblique view does to the middle changes slowly, and an end that is missed
    /// comes back.</summary>
    public double[] SteadyCentresPx => field ??= [.. Enumerable.Range(0, CentresPx.Length).Select(k =>
        Medians.Upper(CentresPx[Math.Max(0, k - Steady)..Math.Min(CentresPx.Length, k + Steady + 1)].Where(double.IsFinite).DefaultIfEmpty(CentrePx)))];

    /// <summary>Frames on either side for it.</summary>
    private const int Steady = 9;

    /// <summary>Half length of the swing in each frame: by its own threshold ends, or by its neighbours' where these do not go with
    /// them; where
    /// frames see only arcs, by the farthest ends around. NaN without any.</summary>
    public double[] HalfLengthPx { get; }

    /// <summary>Judges the streaks by threshold.</summary>
    /// <param name="streaks">The streaks.</param>
    /// <param name="sigmaPx">The spot's standard deviation.</param>
    /// <param name="wholeSwings">True when exposures are known to see the whole swing, whatever the ends do.</param>
    /// <param name="separate">True when a streak has nothing to do with those before and after it.</param>
    public static ArcCoverage Of(IReadOnlyList<CoarseStreak?> streaks, double sigmaPx, bool wholeSwings = false, bool separate = false)
    {
        int count = streaks.Count;
        double[] first = new double[count], second = new double[count], middles = new double[count];
        int falling = 0, judged = 0;
        for (int k = 0; k < count; k++)
        {
            (first[k], second[k]) = CoarseStreak.FarthestEnds(streaks, k, Neighbours);
            middles[k] = (first[k] + second[k]) / 2;
            if (streaks[k] is null)
                continue;

            // A decay or a rise moves an end one way; an end that lies short of those before and of those after it was missed.
            double margin = Math.Max(sigmaPx, 0.02 * (second[k] - first[k]));
            judged++;
            if (FallsShort(streaks, k, s => s.SecondEndPx, margin) || FallsShort(streaks, k, s => -s.FirstEndPx, margin))
                falling++;
        }

        // Long streaks tell the middle best.
        int[] order = [.. Enumerable.Range(0, count).Where(k => second[k] > first[k]).OrderByDescending(k => second[k] - first[k])];
        double[] best = [.. order.Take(Math.Max(1, order.Length / 3)).Select(k => middles[k]).Order()];
        double centre = best.Length > 0 ? best[best.Length / 2] : double.NaN;
        double[] half = new double[count];
        if (wholeSwings || !(falling > ShortFrames * judged))
        {
            for (int k = 0; k < count; k++)
            {
                double low = separate ? streaks[k]?.FirstEndPx ?? double.NaN : Usual(streaks, k, s => s.FirstEndPx, sigmaPx);
                double high = separate ? streaks[k]?.SecondEndPx ?? double.NaN : Usual(streaks, k, s => s.SecondEndPx, sigmaPx);
                (middles[k], half[k]) = ((low + high) / 2, CoarseStreak.Inner((high - low) / 2, sigmaPx));
            }

            return new ArcCoverage(false, centre, middles, half);
        }

        for (int k = 0; k < count; k++)
        {
            double reach = Math.Max(second[k] - centre, centre - first[k]);
            half[k] = double.IsFinite(reach) ? CoarseStreak.Inner(reach, sigmaPx) : double.NaN;
        }

        Array.Fill(middles, centre);
        return new ArcCoverage(true, centre, middles, half);
    }

    // The frame's own end, unless it jumps away from the median of its neighbours': then that.
    private static double Usual(IReadOnlyList<CoarseStreak?> streaks, int frame, Func<CoarseStreak, double> end, double sigmaPx)
    {
        var near = new List<double>(2 * UsualNeighbours + 1);
        for (int n = Math.Max(0, frame - UsualNeighbours); n <= Math.Min(streaks.Count - 1, frame + UsualNeighbours); n++)
        {
            if (streaks[n] is CoarseStreak streak)
                near.Add(end(streak));
        }

        if (near.Count == 0)
            return double.NaN;
        near.Sort();
        double usual = near[near.Count / 2];
        return streaks[frame] is CoarseStreak own && Math.Abs(end(own) - usual) < JumpSigma * sigmaPx ? end(own) : usual;
    }

    /// <summary>Neighbours on either side that an end is held against.</summary>
    private const int UsualNeighbours = 3;

    /// <summary>A jump of an end that neighbours do not share, in sigma.</summary>
    private const double JumpSigma = 2;

    private static bool FallsShort(IReadOnlyList<CoarseStreak?> streaks, int frame, Func<CoarseStreak, double> end, double margin)
    {
        double here = end(streaks[frame]!.Value);
        return Farthest(frame - Neighbours, frame - 1) - here > margin && Farthest(frame + 1, frame + Neighbours) - here > margin;

        double Farthest(int from, int to)
        {
            double farthest = double.NegativeInfinity;
            for (int n = Math.Max(0, from); n <= Math.Min(streaks.Count - 1, to); n++)
            {
                if (streaks[n] is CoarseStreak near)
                    farthest = Math.Max(farthest, end(near));
            }

            return farthest;
        }
    }
}
