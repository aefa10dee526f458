namespace StreakTrack.Core.Fitting;

/// <summary>Scatter from point to point: what is left when everything slow is taken away.</summary>
internal static class LocalScatter
{
    /// <summary>
    /// Standard deviation of independent noise with the same second differences, by their median, so that jumps do not count.
    /// </summary>
    /// <param name="values">Values in the order of time.</param>
    /// <returns>The standard deviation; 0 with fewer than three values.</returns>
    public static double Of(double[] values)
    {
        if (values.Length < 3)
            return 0;
        double[] seconds = new double[values.Length - 2];
        for (int i = 0; i < seconds.Length; i++)
            seconds[i] = Math.Abs(values[i] - 2 * values[i + 1] + values[i + 2]);
        Array.Sort(seconds);

        // Second differences of independent noise have six times its variance; 1.4826 turns a median of sizes into a standard deviation.
        return 1.4826 * seconds[seconds.Length / 2] / Math.Sqrt(6);
    }
}
