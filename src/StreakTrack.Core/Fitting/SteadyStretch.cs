namespace StreakTrack.Core.Fitting;

/// <summary>A stretch of a series in which the amplitude keeps one level.</summary>
/// <param name="StartSeconds">Time of its first point, in s.</param>
/// <param name="EndSeconds">Time of its last point, in s.</param>
/// <param name="LevelMm">Mean amplitude, in mm.</param>
internal readonly record struct SteadyStretch(double StartSeconds, double EndSeconds, double LevelMm)
{
    /// <summary>Fewest points that make a stretch.</summary>
    private const int FewestPoints = 20;

    /// <summary>Of a longer series every so-manieth point is looked at.</summary>
    private const int MostPoints = 1500;

    /// <summary>Neighbours whose median stands for a point, so that single strays do not end a stretch.</summary>
    private const int Neighbours = 9;

    /// <summary>How far a stretch may reach from its lowest to its highest point, as a share of the whole motion's range.</summary>
    private const double LevelShare = 0.015;

    /// <summary>The same in scatters from point to point; medians of nine scatter by less than half of one.</summary>
    private const double LevelScatters = 4;

    /// <summary>
    /// Bend between the last two quarters of a stretch that makes it a beat's crest, as a share of the reach; a parabola that fills the
    /// reach bends by half of it.
    /// </summary>
    private const double CrestShare = 0.15;

    /// <summary>How many times as fast the amplitude must run between two stretches as it drifts within them.</summary>
    private const double TransitionRatio = 4;

    /// <summary>
    /// The stretches of a series. One change of the drive leaves at most two, before and after it: the slow end of a decay is one stretch,
    /// because what lies between two parts of it runs no faster than they do themselves.
    /// </summary>
    /// <param name="points">The points.</param>
    public static IReadOnlyList<SteadyStretch> Find(FitPoints points)
    {
        int stride = (points.Count + MostPoints - 1) / MostPoints;
        double[] all = Medians(points.Amplitudes), smooth = [.. all.Where((_, i) => i % stride == 0)];
        double[] times = [.. points.Times.Where((_, i) => i % stride == 0)];
        double tolerance = Math.Max(LevelShare * (smooth.Max() - smooth.Min()), LevelScatters * LocalScatter.Of(points.Amplitudes));

        // The longest first, so that a level is not begun in the approach to it.
        var free = new bool[smooth.Length];
        Array.Fill(free, true);
        int[] ends = [.. Enumerable.Range(0, smooth.Length).Select(first => End(smooth, first, tolerance))];
        var stretches = new List<Candidate>();
        foreach (int first in Enumerable.Range(0, smooth.Length).OrderByDescending(first => ends[first] - first))
        {
            int count = ends[first] - first;
            if (count < FewestPoints)
                break;
            if (!free[first] || !free[ends[first] - 1])
                continue;
            Array.Fill(free, false, first, count);
            ReadOnlySpan<double> values = smooth.AsSpan(first, count);
            if (!IsCrest(values, tolerance))
            {
                var stretch = new SteadyStretch(times[first], times[ends[first] - 1], Median(values));
                stretches.Add(new Candidate(stretch, Drift(values) / (stretch.EndSeconds - stretch.StartSeconds)));
            }
        }

        var found = new List<Candidate>();
        foreach (Candidate next in stretches.OrderBy(s => s.Stretch.StartSeconds))
        {
            if (found.Count == 0 || IsApart(found[^1], next, tolerance))
                found.Add(next);
            else if (Math.Abs(found[^1].Stretch.LevelMm - next.Stretch.LevelMm) <= 2 * tolerance)
                found[^1] = found[^1] with { Stretch = found[^1].Stretch with { EndSeconds = next.Stretch.EndSeconds } };
        }

        return [.. found.Select(f => f.Stretch)];
    }

    /// <summary>A stretch with its drift, in mm/s.</summary>
    private readonly record struct Candidate(SteadyStretch Stretch, double Drift);

    private static bool IsApart(Candidate a, Candidate b, double tolerance)
    {
        double step = Math.Abs(b.Stretch.LevelMm - a.Stretch.LevelMm), gap = b.Stretch.StartSeconds - a.Stretch.EndSeconds;
        return step > 2 * tolerance && step > TransitionRatio * Math.Max(a.Drift, b.Drift) * gap;
    }

    /// <summary>How far the level runs over a stretch, from its first quarter to its last.</summary>
    private static double Drift(ReadOnlySpan<double> stretch)
    {
        int quarter = stretch.Length / 4;
        return Math.Abs(Median(stretch[^quarter..]) - Median(stretch[..quarter])) * 4 / 3;
    }

    /// <summary>Whether a stretch is the slow turn of a beat: it is still bending away in its last quarter, where a level is flat.</summary>
    private static bool IsCrest(ReadOnlySpan<double> stretch, double tolerance)
    {
        int quarter = stretch.Length / 4;
        return Math.Abs(Median(stretch[^quarter..]) - Median(stretch[^(2 * quarter)..^quarter])) > CrestShare * tolerance;
    }

    /// <summary>The first point after one that lies no more than the tolerance from all others since.</summary>
    private static int End(double[] values, int first, double tolerance)
    {
        double low = values[first], high = values[first];
        int end = first;
        while (end < values.Length && Math.Max(high, values[end]) - Math.Min(low, values[end]) <= tolerance)
        {
            (low, high) = (Math.Min(low, values[end]), Math.Max(high, values[end]));
            end++;
        }

        return end;
    }

    private static double[] Medians(double[] values)
    {
        double[] medians = new double[values.Length];
        for (int i = 0; i < values.Length; i++)
        {
            int from = Math.Clamp(i - (Neighbours / 2), 0, Math.Max(0, values.Length - Neighbours));
            medians[i] = Median(values.AsSpan(from, Math.Min(Neighbours, values.Length)));
        }

        return medians;
    }

    private static double Median(ReadOnlySpan<double> values)
    {
        double[] sorted = [.. values];
        Array.Sort(sorted);
        return sorted[sorted.Length / 2];
    }
}
