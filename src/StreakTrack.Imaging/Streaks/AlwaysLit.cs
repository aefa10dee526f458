namespace StreakTrack.Imaging.Streaks;

/// <summary>Places along a strip that the streak never leaves in the frames looked at.</summary>
internal static class AlwaysLit
{
    /// <summary>Share of a frame's brightest colour that a place must have to count as lit in it: the middle of a streak keeps at
    /// least a seventh
    /// of the brightness of its ends, out to half lengths of 50 sigma.</summary>
    private const float LeastShare = 0.07f;

    /// <summary>The same share above what is usual in the other frames: enough, whatever else is bright in this one.</summary>
    private const float CertainShare = 0.14f;

    /// <summary>How many times the unrest of dark places a lit one must stand out.</summary>
    private const float LeastContrast = 6;

    /// <summary>The same where the unrest is told by the lowest twelfth of the places: 3.2 standard deviations above their mean, of a strip
    /// that is dark all along, both ways.</summary>
    private const float LeastContrastOfFew = 8;

    /// <summary>Finds them by their colour, which a ruler with its ticks does not have.</summary>
    /// <param name="band">The strip.</param>
    /// <param name="primary">Samples of the beam's own primary, frame by frame.</param>
    /// <param name="others">Samples of the other two primaries.</param>
    /// <param name="covered">Columns of each frame that something covers: they tell nothing.</param>
    /// <param name="acrossSigmaPx">The streak's standard deviation across the strip.</param>
    /// <returns>One entry a column: whether it is always lit, with a margin of a few spots.</returns>
    public static bool[] Of(
        StripGeometry band, IReadOnlyList<float[]> primary, (IReadOnlyList<float[]> A, IReadOnlyList<float[]> B) others,
        IReadOnlyList<bool[]> covered, double acrossSigmaPx)
    {
        int length = band.LengthPx, half = band.HalfWidthPx;
        int quiet = Math.Min(half - 1, (int)Math.Ceiling(StripProfiler.QuietReach * acrossSigmaPx));
        int core = Math.Max(1, (int)(0.7 * acrossSigmaPx));
        int reach = Math.Max(2, (int)(1.5 * acrossSigmaPx));
        float[] excess = new float[length];
        var smooths = new float[primary.Count][];
        double[] usuals = new double[primary.Count];
        float[] limits = new float[primary.Count];
        for (int k = 0; k < primary.Count; k++)
        {
            float[] smooth = smooths[k] = new float[length];
            for (int i = 0; i < length; i++)
                excess[i] = Mean(k, i, -core, core) - (0.5f * (Mean(k, i, -half, -quiet) + Mean(k, i, quiet, half)));
            for (int i = 0; i < length; i++)
                smooth[i] = Smooth(excess, i, reach);

            // A steady streak can fill most of the strip, so what is usual without one is taken from the lowest sixth; along the short side of a
            // picture, where it may reach into that, also from the lowest twelfth. A streak only raises what is found, so that the lower one is right.
            float[] sorted = [.. smooth.Order()];
            usuals[k] = sorted[sorted.Length / 6];
            limits[k] = Limit(sorted, 6, 20, LeastContrast);
            if (band.CrossesRows)
                limits[k] = Math.Min(limits[k], Limit(sorted, 12, 40, LeastContrastOfFew));
        }

        // A streak that leaves the strip on both sides leaves none of it dark: what is usual without one is then told by the other frames.
        float usual = (float)Medians.Upper(usuals);
        bool[] always = new bool[length];
        Array.Fill(always, true);
        for (int k = 0; k < primary.Count; k++)
        {
            float limit = Math.Min(limits[k], usual + (CertainShare * (smooths[k].Max() - usual)));
            bool[] lit = Widened([.. smooths[k].Select(v => v > limit)], reach);
            for (int i = 0; i < length; i++)
                always[i] &= lit[i] || covered[k][i];
        }

        return Widened(always, 2 * reach);

        // Usual is the brightness that one place in so many falls below, and its distance from a lower such share tells the unrest.
        static float Limit(float[] sorted, int usualShare, int lowShare, float contrast)
        {
            float usual = sorted[sorted.Length / usualShare], spread = Math.Max(usual - sorted[sorted.Length / lowShare], 2e-4f);
            return usual + Math.Max(contrast * spread, LeastShare * (sorted[^1] - usual));
        }

        float Mean(int frame, int column, int from, int to)
        {
            float sum = 0;
            for (int j = from; j <= to; j++)
            {
                int at = ((j + half) * length) + column;
                sum += primary[frame][at] - (0.5f * (others.A[frame][at] + others.B[frame][at]));
            }

            return sum / (to - from + 1);
        }
    }

    private static bool[] Widened(bool[] lit, int margin)
    {
        bool[] wide = new bool[lit.Length];
        for (int i = 0; i < lit.Length; i++)
        {
            if (!lit[i])
                continue;
            int from = Math.Max(0, i - margin);
            wide.AsSpan(from, Math.Min(lit.Length - 1, i + margin) - from + 1).Fill(true);
        }

        return wide;
    }

    private static float Smooth(float[] values, int middle, int reach)
    {
        float sum = 0;
        int count = 0;
        for (int k = Math.Max(0, middle - reach); k <= Math.Min(values.Length - 1, middle + reach); k++)
        {
            if (float.IsNaN(values[k]))
                continue;
            sum += values[k];
            count++;
        }

        return count > 0 ? sum / count : 0;
    }
}
