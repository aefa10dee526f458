namespace StreakTrack.Imaging.Streaks;

/// <summary>The streak as the threshold stage sees it. Places in px along the strip.</summary>
/// <param name="FirstEndPx">Where the brightness falls through the threshold on the side of small s.</param>
/// <param name="SecondEndPx">The same on the other side.</param>
/// <param name="FirstPeak">Brightness next to the first end.</param>
/// <param name="SecondPeak">Brightness next to the second end.</param>
/// <param name="TotalLight">Light of the whole streak.</param>
/// <param name="StrayLight">Light of other bright stretches that were set aside.</param>
internal readonly record struct CoarseStreak(
    double FirstEndPx, double SecondEndPx, double FirstPeak, double SecondPeak, double TotalLight, double StrayLight)
{
    /// <summary>Half the distance of the threshold ends.</summary>
    public double HalfLengthPx => (SecondEndPx - FirstEndPx) / 2;

    /// <summary>Middle between the threshold ends.</summary>
    public double CentrePx => (FirstEndPx + SecondEndPx) / 2;

    /// <summary>Most light of other stretches, as a share of the streak's: a second reflection is fainter than half of it (common practice, no source).</summary>
    private const double MostStray = 0.5;

    /// <summary>Whether another stretch is about as bright. An exposure draws one stretch without a gap, so that something lies between the two, light flashes,
    /// or the faint middle of a long streak is lost in the noise; whichever it is, the ends of one stretch are not those of the swing.</summary>
    public bool IsInPieces => StrayLight > MostStray * TotalLight;

    /// <summary>How far outside the turning point of a long streak its edge lies at half of its peak, in sigma. A resting spot's lies 1.18
    /// sigma outside its middle.</summary>
    public const double EdgeSigma = 0.70;

    /// <summary>The harmonic motion's half length that belongs to the threshold ends.</summary>
    public double InnerHalfLengthPx(double sigmaPx) => Inner(HalfLengthPx, sigmaPx);

    /// <summary>The harmonic motion's half length that belongs to half the distance of threshold ends; never less than half a sigma.</summary>
    public static double Inner(double halfPx, double sigmaPx) => Math.Max(halfPx - (EdgeSigma * sigmaPx), 0.5 * sigmaPx);

    /// <summary>The farthest ends, in px along the strip, of a frame's streak and those of the neighbours on either side: the first at positive and
    /// the second at negative infinity where there are none.</summary>
    /// <param name="streaks">The streaks.</param>
    /// <param name="frame">The frame.</param>
    /// <param name="neighbours">Frames on either side.</param>
    public static (double FirstPx, double SecondPx) FarthestEnds(IReadOnlyList<CoarseStreak?> streaks, int frame, int neighbours)
    {
        (double first, double second) = (double.PositiveInfinity, double.NegativeInfinity);
        for (int n = Math.Max(0, frame - neighbours); n <= Math.Min(streaks.Count - 1, frame + neighbours); n++)
        {
            if (streaks[n] is not CoarseStreak near)
                continue;
            first = Math.Min(first, near.FirstEndPx);
            second = Math.Max(second, near.SecondEndPx);
        }

        return (first, second);
    }

    /// <summary>Finds the streak: of the connected bright stretches the one with the most light.</summary>
    /// <param name="light">Laser light along the strip.</param>
    /// <param name="noise">Its noise far from the streak.</param>
    /// <param name="sigmaPx">The spot's standard deviation.</param>
    /// <param name="fraction">Threshold as a fraction of the brightness next to the end.</param>
    /// <param name="expectedPx">Where the streak's middle is expected; NaN if not known. A stretch that reaches over it is
    /// preferred.</param>
    /// <param name="smooth">Scratch, as long as <paramref name="light"/>.</param>
    /// <param name="arcsApart">Whether one streak may show several arcs, as where a shutter rolls along it: from the first to the last of them
    /// then is one streak.</param>
    public static CoarseStreak? Find(
        ReadOnlySpan<float> light, in ProfileNoise noise, double sigmaPx, double fraction, double expectedPx, Span<float> smooth,
        bool arcsApart = false)
    {
        int reach = Math.Max(1, (int)Math.Round(0.5 * sigmaPx));
        Smooth(light, reach, smooth);
        float peak = 0;
        foreach (float value in smooth)
            peak = Math.Max(peak, value);

        // In the middle a streak keeps at least a seventh of the brightness of its ends, out to half lengths of 50 sigma.
        double unrest = noise.MeanSd((2 * reach) + 1);
        double threshold = Math.Max(4 * unrest, 0.07 * peak);
        if (!(peak > 6 * unrest))
            return null;

        List<Stretch> stretches = Join(Stretches(smooth, threshold), smooth, noise, (int)Math.Ceiling(3 * sigmaPx), 0.03 * peak);
        Stretch best = default;
        double all = 0, bestScore = 0;
        foreach (Stretch stretch in stretches)
        {
            all += stretch.Light;
            bool expected = stretch.From - (2 * sigmaPx) <= expectedPx && expectedPx <= stretch.To + (2 * sigmaPx);
            double score = expected ? 10 * stretch.Light : stretch.Light;
            if (score > bestScore)
                (best, bestScore) = (stretch, score);
        }

        if (bestScore == 0)
            return null;

        if (arcsApart)
        {
            Stretch[] arcs = [.. stretches.Where(s => s.Light > ArcShare * best.Light)];
            best = new Stretch(arcs[0].From, arcs[^1].To, arcs.Sum(a => a.Light));
        }

        // The profile peaks 0.76 sigma inside a turning point, so the end's own brightness is found within a few sigma of it. Whatever part of a swing
        // is seen, its brightest place is one of its ends: where both are faint against what lies between them they are glare, and the ends farther in.
        int near = (int)Math.Ceiling(4 * sigmaPx), step = Math.Max(1, near / 2);
        (int from, int to) = (best.From, best.To);
        double brightest = Max(smooth, from, to), firstPeak, secondPeak;
        while (true)
        {
            firstPeak = Max(smooth, from, Math.Min(to, from + near));
            secondPeak = Max(smooth, Math.Max(from, to - near), to);
            if (arcsApart || Math.Max(firstPeak, secondPeak) > GlareShare * brightest)
                break;
            (from, to) = (from + step, to - step);
        }

        return new CoarseStreak(
            Crossing(smooth, from, to, +1, fraction * firstPeak), Crossing(smooth, to, from, -1, fraction * secondPeak),
            firstPeak, secondPeak, best.Light, all - best.Light);
    }

    /// <summary>Most brightness that glare has, as a share of that of the streak.</summary>
    private const double GlareShare = 0.3;

    /// <summary>Least light of an arc beside another of the same streak, as a share of the other's: less is a reflection.</summary>
    private const double ArcShare = 0.2;

    private readonly record struct Stretch(int From, int To, double Light);

    private static List<Stretch> Stretches(ReadOnlySpan<float> smooth, double threshold)
    {
        var found = new List<Stretch>();
        int from = -1;
        double sum = 0;
        for (int i = 0; i <= smooth.Length; i++)
        {
            if (i < smooth.Length && smooth[i] > threshold)
            {
                if (from < 0)
                    (from, sum) = (i, 0);
                sum += smooth[i];
            }
            else if (from >= 0)
            {
                found.Add(new Stretch(from, i - 1, sum));
                from = -1;
            }
        }

        return found;
    }

    // Gaps no wider than a tick's shadow are bridged; wider ones when the light in between, taken together, stands out from the noise.
    private static List<Stretch> Join(
        List<Stretch> stretches, ReadOnlySpan<float> smooth, in ProfileNoise noise, int bridge, double leastLight)
    {
        for (int k = 0; k + 1 < stretches.Count;)
        {
            Stretch a = stretches[k], b = stretches[k + 1];
            int gap = b.From - a.To - 1;
            double between = 0;
            for (int i = a.To + 1; i < b.From; i++)
                between += smooth[i];
            if (gap <= bridge || between / gap > Math.Max(4 * noise.MeanSd(gap), leastLight))
            {
                stretches[k] = new Stretch(a.From, b.To, a.Light + between + b.Light);
                stretches.RemoveAt(k + 1);
                k = Math.Max(0, k - 1);
            }
            else
            {
                k++;
            }
        }

        return stretches;
    }

    private static void Smooth(ReadOnlySpan<float> light, int reach, Span<float> smooth)
    {
        for (int i = 0; i < light.Length; i++)
        {
            float sum = 0;
            int count = 0;
            for (int k = Math.Max(0, i - reach); k <= Math.Min(light.Length - 1, i + reach); k++)
            {
                if (float.IsNaN(light[k]))
                    continue;
                sum += light[k];
                count++;
            }

            smooth[i] = count > 0 ? sum / count : i > 0 ? smooth[i - 1] : 0;
        }
    }

    private static double Max(ReadOnlySpan<float> light, int from, int to)
    {
        double max = 0;
        for (int i = from; i <= to; i++)
            max = light[i] > max ? light[i] : max;
        return max;
    }

    private static double Crossing(ReadOnlySpan<float> light, int start, int stop, int direction, double level)
    {
        // Outward first, in case the stretch was found with a higher threshold than the one wanted.
        while (start - direction >= 0 && start - direction < light.Length && light[start - direction] >= level && light[start] >= level)
            start -= direction;
        for (int i = start; i != stop; i += direction)
        {
            if (light[i] >= level)
            {
                int outside = i - direction;
                if (outside < 0 || outside >= light.Length || !(light[outside] < level))
                    return i;
                return i - (direction * (light[i] - level) / (light[i] - light[outside]));
            }
        }

        return stop;
    }
}
