namespace StreakTrack.Imaging.Streaks;

/// <summary>Medians over frames.</summary>
internal static class Medians
{
    /// <summary>The value in the middle of the sorted ones; of an even number, the upper of the two in the middle.</summary>
    /// <param name="values">The values, at least one; they stay as they are.</param>
    public static double Upper(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted[sorted.Length / 2];
    }

    /// <summary>Median distance of neighbouring times, of those that go forwards; NaN without any.</summary>
    /// <param name="timesSeconds">Times, in s, in the order of the frames.</param>
    public static double Spacing(IReadOnlyList<double> timesSeconds)
    {
        double[] forwards = [.. timesSeconds.Skip(1).Zip(timesSeconds, (b, a) => b - a).Where(d => d > 0)];
        return forwards.Length == 0 ? double.NaN : Upper(forwards);
    }
}
