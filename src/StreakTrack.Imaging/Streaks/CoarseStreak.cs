namespace StreakTrack.Imaging.Streaks;

/// <summary>The streak as the threshold stage sees it.</summary>
/// <param name="FirstEndPx">Where the brightness falls through the threshold on the side of small s.</param>
/// <param name="SecondEndPx">The same on the other side.</param>
/// <param name="PeakLight">Brightness next to the fainter end.</param>
/// <param name="TotalLight">Light of the whole streak.</param>
internal readonly record struct CoarseStreak(double FirstEndPx, double SecondEndPx, double PeakLight, double TotalLight)
{
    /// <summary>Half the distance of the threshold ends.</summary>
    public double HalfLengthPx => (SecondEndPx - FirstEndPx) / 2;

    /// <summary>Finds the streak: the connected bright stretch with the most light.</summary>
    /// <param name="light">Laser light along the strip.</param>
    /// <param name="noise">Its standard deviation far from the streak.</param>
    /// <param name="sigmaPx">The spot's standard deviation: gaps narrower than three of them are bridged.</param>
    /// <param name="fraction">Threshold as a fraction of the brightness next to the end.</param>
    public static CoarseStreak? Find(ReadOnlySpan<float> light, double noise, double sigmaPx, double fraction)
    {
        float peak = 0;
        foreach (float value in light)
            peak = float.IsNaN(value) ? peak : Math.Max(peak, value);
        double threshold = Math.Max(5 * noise, 0.1 * peak);
        if (!(peak > threshold))
            return null;

        int bridge = (int)Math.Ceiling(3 * sigmaPx);
        int bestFrom = -1, bestTo = -1;
        double bestLight = 0;
        int from = -1, last = -1;
        double sum = 0;
        for (int i = 0; i <= light.Length; i++)
        {
            bool bright = i < light.Length && light[i] > threshold;
            if (bright)
            {
                if (from < 0)
                    (from, sum) = (i, 0);
                last = i;
                sum += light[i];
            }
            else if (from >= 0 && (i - last > bridge || i == light.Length))
            {
                if (sum > bestLight)
                    (bestFrom, bestTo, bestLight) = (from, last, sum);
                from = -1;
            }
        }

        if (bestFrom < 0)
            return null;

        // The profile peaks 0.76 sigma inside a turning point, so the end's own brightness is found within a few sigma of it.
        int reach = (int)Math.Ceiling(5 * sigmaPx);
        double firstPeak = Max(light, bestFrom, Math.Min(bestTo, bestFrom + reach)), secondPeak = Max(light, Math.Max(bestFrom, bestTo - reach), bestTo);
        return new CoarseStreak(
            Crossing(light, bestFrom, bestTo, +1, fraction * firstPeak), Crossing(light, bestTo, bestFrom, -1, fraction * secondPeak),
            Math.Min(firstPeak, secondPeak), bestLight);
    }

    /// <summary>A first guess for the profile fit.</summary>
    /// <param name="sigmaPx">The spot's standard deviation.</param>
    public StreakProfileParameters Guess(double sigmaPx)
    {
        // At half of its peak a long streak's edge lies 0.70 sigma outside the turning point; a resting spot's 1.18 sigma.
        double half = Math.Max(HalfLengthPx - (0.70 * sigmaPx), 0.5 * sigmaPx);
        return new StreakProfileParameters((FirstEndPx + SecondEndPx) / 2, half, TotalLight, TotalLight, 0, sigmaPx);
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
