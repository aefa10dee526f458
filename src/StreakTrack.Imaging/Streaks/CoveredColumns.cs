namespace StreakTrack.Imaging.Streaks;

/// <summary>Columns of a strip that somebody, or a hand, covers in some of the frames looked at: what lies there is not the scene.</summary>
/// <remarks>
/// Told beside the streak, where the whole column grows darker than it usually is. A streak that is elsewhere takes its halo with it, which darkens the
/// column too, but mostly in the beam's own colour; who stands before a white or grey ruler takes all colours alike.
/// </remarks>
internal static class CoveredColumns
{
    /// <summary>Frames from which what is usual can be told.</summary>
    private const int LeastFrames = 3;

    /// <summary>Share of its usual light that a covered column lacks at least: clothes and skin are darker than a ruler by more, a halo makes less of its light.</summary>
    private const double LeastLack = 0.25;

    /// <summary>The same in standard deviations of the column's unrest.</summary>
    private const double LeastLackSd = 5;

    /// <summary>Share of the lack in the beam's own colour that the other two lack at least.</summary>
    private const double LeastColourless = 0.5;

    /// <summary>What is lacking next to a covered column belongs to its blurred edge from these on.</summary>
    private const double EdgeLack = 0.01, EdgeLackSd = 1;

    /// <summary>Finds them.</summary>
    /// <param name="band">The strip.</param>
    /// <param name="primary">Samples of the beam's own primary, frame by frame.</param>
    /// <param name="others">Samples of the other two primaries.</param>
    /// <param name="acrossSigmaPx">The streak's standard deviation across the strip.</param>
    /// <returns>One entry a frame and column.</returns>
    public static bool[][] Of(
        StripGeometry band, IReadOnlyList<float[]> primary, (IReadOnlyList<float[]> A, IReadOnlyList<float[]> B) others, double acrossSigmaPx)
    {
        int frames = primary.Count, length = band.LengthPx;
        var covered = new bool[frames][];
        for (int k = 0; k < frames; k++)
            covered[k] = new bool[length];
        if (frames < LeastFrames)
            return covered;

        double[][] own = [.. primary.Select(p => Beside(band, p, p, acrossSigmaPx))];
        double[][] other = [.. others.A.Zip(others.B, (a, b) => Beside(band, a, b, acrossSigmaPx))];
        (double[] ownUsual, _) = ToOneExposure(own);
        (double[] usual, double[] unrest) = ToOneExposure(other);
        for (int k = 0; k < frames; k++)
        {
            double[] light = other[k];
            bool[] hidden = covered[k];
            for (int i = 0; i < length; i++)
            {
                double lack = usual[i] - light[i];
                hidden[i] = lack > Math.Max(LeastLack * usual[i], LeastLackSd * unrest[i]) && lack > LeastColourless * (ownUsual[i] - own[k][i]);
            }

            for (int i = 1; i < length; i++)
                hidden[i] |= hidden[i - 1] && AtEdge(i);
            for (int i = length - 2; i >= 0; i--)
                hidden[i] |= hidden[i + 1] && AtEdge(i);

            bool AtEdge(int i) => usual[i] - light[i] > Math.Max(EdgeLack * usual[i], EdgeLackSd * unrest[i]);
        }

        return covered;
    }

    // Mean of two strips over the rows beside the streak that lie in the picture, column by column; NaN where none does.
    private static double[] Beside(StripGeometry band, float[] a, float[] b, double acrossSigmaPx)
    {
        double[] sum = new double[band.LengthPx];
        int[] rows = new int[sum.Length];
        for (int j = 0; j < band.WidthPx; j++)
        {
            if (Math.Abs(j - band.HalfWidthPx) <= StripProfiler.QuietReach * acrossSigmaPx)
                continue;
            for (int i = 0; i < sum.Length; i++)
            {
                float value = 0.5f * (a[(j * sum.Length) + i] + b[(j * sum.Length) + i]);
                if (float.IsNaN(value))
                    continue;
                sum[i] += value;
                rows[i]++;
            }
        }

        return [.. sum.Zip(rows, (s, n) => s / n)];
    }

    // Divides each frame by its brightness against what is usual; returns that, and each column's unrest about it.
    private static (double[] Usual, double[] Unrest) ToOneExposure(double[][] frames)
    {
        double[] usual = PerColumn(frames, Medians.Upper);
        foreach (double[] frame in frames)
        {
            double gain = Medians.Upper(frame.Zip(usual, (f, u) => f / u).Where(double.IsFinite).DefaultIfEmpty(1));
            for (int i = 0; i < frame.Length && gain > 0; i++)
                frame[i] /= gain;
        }

        usual = PerColumn(frames, Medians.Upper);
        return (usual, PerColumn(frames, Unrest));

        // 0.6745 is the median of the absolute value of a standard normal variable.
        static double Unrest(double[] column)
        {
            double middle = Medians.Upper(column);
            return Medians.Upper(column.Select(v => Math.Abs(v - middle))) / 0.6745;
        }
    }

    private static double[] PerColumn(double[][] frames, Func<double[], double> of) =>
        [.. Enumerable.Range(0, frames[0].Length).Select(i => of([.. frames.Select(f => f[i])]))];
}
