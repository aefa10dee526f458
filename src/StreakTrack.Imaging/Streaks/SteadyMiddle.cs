using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Finds frames in which one end of the streak is hidden: the middle between the ends then leaves its place.</summary>
/// <remarks>
/// The oscillation swings about the resting spot, so that the middle of the ends, in mm on the ruler, stays where it is at small amplitudes,
/// but for a shift with the square of the amplitude that an oblique view or ruler adds. An end that is cut by the end of the ruler or by a
/// hand moves the middle by half of what is missing, which is a straight line in the amplitude seen. From small amplitudes to large
/// ones, frames are taken into the law of the middle as long as they obey it.
/// </remarks>
internal static class SteadyMiddle
{
    /// <summary>Frames needed to judge.</summary>
    private const int LeastFrames = 20;

    /// <summary>Share of the frames, those of the smallest amplitudes, that the law starts from.</summary>
    private const double StartShare = 0.1;

    /// <summary>What may shift the middle: of the spot's standard deviation, of the amplitude, and in standard uncertainties.</summary>
    private const double SpotShare = 0.7, AmplitudeShare = 0.01, Uncertainties = 5;

    /// <summary>The ends are half a period apart in time; while the amplitude changes by this much from frame to frame, the middle may
    /// shift by that share of it.</summary>
    private const double ChangeShare = 0.3;
    private const int ChangeFrames = 7;

    /// <summary>Shift by an oblique view or ruler at the largest amplitude, as a share of it: what is believed before looking.</summary>
    private const double ObliqueShare = 0.1;

    /// <summary>A departure of that share of the limit, on the same side, still belongs to its neighbour's in time.</summary>
    private const double EdgeShare = 0.3;

    /// <summary>When more than this share of the frames departs, one end of them must stand still beside the other for that to be
    /// believed.</summary>
    private const double MostFrames = 0.5, StandsStill = 0.25;

    /// <summary>Flags the frames.</summary>
    /// <param name="readings">The readings; those whose middle departs get <see cref="FrameFlags.PartHidden"/>.</param>
    /// <param name="scale">The ruler's scale.</param>
    /// <param name="sigmaPx">The spot's standard deviation.</param>
    /// <returns>Whether the middle keeps a place, or there is too little to tell; where it keeps none, no frame is flagged, because it is not known
    /// which of them show the whole streak.</returns>
    public static bool Check(StreakReading[] readings, RulerScale scale, double sigmaPx)
    {
        const FrameFlags unfit = FrameFlags.NoStreak | FrameFlags.ProfileFailed | FrameFlags.CutOff | FrameFlags.PartHidden;
        var swings = new List<Swing>();
        for (int k = 0; k < readings.Length; k++)
        {
            if ((readings[k].Flags & unfit) != 0 || readings[k] is not { FirstEnd: { } a, SecondEnd: { } b })
                continue;
            double first = scale.ReadingMmAt(a), second = scale.ReadingMmAt(b);
            double mmPerPx = (scale.MillimetresPerPixelAt(a) + scale.MillimetresPerPixelAt(b)) / 2;
            double amplitude = Math.Abs(second - first) / 2, u = readings[k].HalfLengthUncertaintyPx * mmPerPx;
            if (!double.IsFinite(amplitude) || !double.IsFinite(u))
                continue;
            double limit = Math.Max(SpotShare * sigmaPx * mmPerPx, AmplitudeShare * amplitude);
            swings.Add(new Swing(k, first, second, (first + second) / 2, amplitude, u, Math.Max(limit, Uncertainties * u)));
        }

        if (swings.Count < LeastFrames)
            return true;
        for (int i = 0; i < swings.Count; i++)
        {
            // The usual change around: what is hidden changes faster, but for a few frames.
            int from = Math.Max(1, i - ChangeFrames), to = Math.Min(swings.Count - 1, i + ChangeFrames);
            double change = Medians.Upper(
                Enumerable.Range(from, to - from + 1).Select(n => Math.Abs(swings[n].AmplitudeMm - swings[n - 1].AmplitudeMm)));
            swings[i] = swings[i] with { LimitMm = swings[i].LimitMm + (ChangeShare * change) };
        }

        int[] order = [.. Enumerable.Range(0, swings.Count).OrderBy(i => swings[i].AmplitudeMm)];
        int start = Math.Max(LeastFrames / 2, (int)(StartShare * order.Length));
        double[] departures = Departures(swings, order, Medians.Upper(order.Take(start).Select(i => swings[i].MiddleMm)));
        bool[] hidden = Depart(departures);
        if (hidden.Count(h => h) > MostFrames * swings.Count && !OneEndStands([.. swings.Where((_, i) => hidden[i])]))
        {
            // The shortest streaks lie beside the place of most others, and not because an end of these is cut: they are the odd ones.
            departures = Departures(swings, order, Medians.Upper(swings.Select(s => s.MiddleMm)));
            hidden = Depart(departures);
            if (hidden.Count(h => h) > MostFrames * swings.Count)
                return false;
        }

        Widen(hidden, departures, swings);
        for (int i = 0; i < hidden.Length; i++)
        {
            if (hidden[i])
                readings[swings[i].Index] = readings[swings[i].Index] with { Flags = readings[swings[i].Index].Flags | FrameFlags.PartHidden };
        }

        return true;

        bool[] Depart(double[] by) => [.. by.Select((d, i) => Math.Abs(d) > swings[i].LimitMm)];
    }

    private readonly record struct Swing(
        int Index, double FirstMm, double SecondMm, double MiddleMm, double AmplitudeMm, double UncertaintyMm, double LimitMm);

    // Departure of each middle from c0 + c2 (A / largest A)^2, fitted to the frames of smaller amplitude that obey it.
    private static double[] Departures(List<Swing> swings, int[] order, double rest)
    {
        double largest = swings[order[^1]].AmplitudeMm;
        double prior = 1 / Math.Pow(ObliqueShare * largest, 2);
        double s0 = 0, s1 = 0, s2 = prior, t0 = 0, t1 = 0;
        double[] departures = new double[swings.Count];
        foreach (int i in order)
        {
            Swing swing = swings[i];
            double x = swing.AmplitudeMm / largest * (swing.AmplitudeMm / largest), y = swing.MiddleMm - rest;
            double determinant = (s0 * s2) - (s1 * s1);
            double c0 = s0 > 0 ? ((t0 * s2) - (t1 * s1)) / determinant : 0, c2 = s0 > 0 ? ((s0 * t1) - (s1 * t0)) / determinant : 0;
            departures[i] = y - c0 - (c2 * x);
            if (Math.Abs(departures[i]) > swing.LimitMm)
                continue;
            double weight = 1 / Math.Pow(Math.Max(swing.UncertaintyMm, 0.1 * swing.LimitMm), 2);
            s0 += weight;
            s1 += weight * x;
            s2 += weight * x * x;
            t0 += weight * y;
            t1 += weight * x * y;
        }

        return departures;
    }

    private static bool OneEndStands(IReadOnlyList<Swing> swings)
    {
        double first = Spread([.. swings.Select(s => s.FirstMm)]), second = Spread([.. swings.Select(s => s.SecondMm)]);
        return Math.Min(first, second) < StandsStill * Math.Max(first, second);

        static double Spread(double[] values)
        {
            double middle = Medians.Upper(values);
            return Medians.Upper(values.Select(v => Math.Abs(v - middle)));
        }
    }

    // Before its departure is plain, an end is hidden a little.
    private static void Widen(bool[] hidden, double[] departures, List<Swing> swings)
    {
        bool[] plain = [.. hidden];
        for (int i = 0; i < plain.Length; i++)
        {
            if (!plain[i])
                continue;
            for (int n = i + 1; n < plain.Length && Same(n, i); n++)
                hidden[n] = true;
            for (int n = i - 1; n >= 0 && Same(n, i); n--)
                hidden[n] = true;
        }

        bool Same(int n, int seed) =>
            !plain[n] && departures[n] * Math.Sign(departures[seed]) > EdgeShare * swings[n].LimitMm;
    }
}
