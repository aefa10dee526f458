namespace StreakTrack.Imaging.Streaks;

/// <summary>How the spot's width goes with time, as when the camera focuses anew in mid-clip.</summary>
/// <remarks>
/// It is seen across the streak, where hundreds of columns tell it together; along the streak speckle and texture under the two ends feign changes
/// of a tenth. Blur out of focus is taken to be as large along as across, and adds to the spot's own width in squares.
/// </remarks>
internal static class SpotFocus
{
    // A camera takes some tenths of a second to focus.
    private const double HalfWindowSeconds = 0.2;
    private const int LeastFrames = 5;

    /// <summary>Distance of the width from the common one, as a share, from which the focus counts as changing. A tenth moves each end by 0.07 sigma,
    /// which the budget's offset covers; ticks, texture, speckle and noise feign as much.</summary>
    private const double LeastChange = 0.15;

    /// <summary>The same in standard uncertainties of a window's width.</summary>
    private const double LeastSignificance = 5;

    /// <summary>A spot is never narrower than this share of the clip's common width.</summary>
    private const double LeastRatio = 0.5;

    /// <summary>The spot's width along the streak in every frame, in px; null where it does not change.</summary>
    /// <param name="timesSeconds">Times of the frames, in s.</param>
    /// <param name="acrossSigmaPx">Width across in each frame, in px; NaN where it is not known.</param>
    /// <param name="frames">Frames that the common width along comes from.</param>
    /// <param name="sigmaPx">That width, in px.</param>
    public static double[]? Widths(IReadOnlyList<double> timesSeconds, IReadOnlyList<double> acrossSigmaPx, int[] frames, double sigmaPx)
    {
        int[] told = [.. Enumerable.Range(0, timesSeconds.Count).Where(k => double.IsFinite(acrossSigmaPx[k]))];
        double[] own = [.. frames.Where(k => double.IsFinite(acrossSigmaPx[k])).Select(k => acrossSigmaPx[k])];
        var times = new List<double>();
        var widths = new List<double>();
        double[] unrest = new double[told.Length];
        int fewest = int.MaxValue, from = 0, to = 0;
        for (int k = 0; k < told.Length; k++)
        {
            double time = timesSeconds[told[k]];
            while (timesSeconds[told[from]] < time - HalfWindowSeconds)
                from++;
            while (to < told.Length && timesSeconds[told[to]] <= time + HalfWindowSeconds)
                to++;
            if (to - from < LeastFrames)
                continue;
            double middle = Medians.Upper(told[from..to].Select(n => acrossSigmaPx[n]));
            times.Add(time);
            widths.Add(middle);
            unrest[k] = Math.Abs(acrossSigmaPx[told[k]] - middle);
            fewest = Math.Min(fewest, to - from);
        }

        if (own.Length < LeastFrames || times.Count < 2 * LeastFrames)
            return null;

        // Of the median of a window, as of Gaussian noise: 1.48 times the median deviation is its standard deviation, 1.25 what a median loses.
        double reference = Medians.Upper(own), uncertainty = 1.25 * 1.4826 * Medians.Upper(unrest) / Math.Sqrt(fewest);
        double farthest = Math.Max(widths.Max() - reference, reference - widths.Min());
        if (farthest < Math.Max(LeastChange * reference, LeastSignificance * uncertainty))
            return null;
        return [.. timesSeconds.Select(Width)];

        double Width(double time)
        {
            double across = At(time), square = (sigmaPx * sigmaPx) + (across * across) - (reference * reference);
            return Math.Sqrt(Math.Max(square, LeastRatio * LeastRatio * sigmaPx * sigmaPx));
        }

        double At(double time)
        {
            int next = times.BinarySearch(time);
            if (next < 0)
                next = ~next;
            if (next == 0 || next == times.Count)
                return next == 0 ? widths[0] : widths[^1];
            double share = (time - times[next - 1]) / (times[next] - times[next - 1]);
            return widths[next - 1] + (share * (widths[next] - widths[next - 1]));
        }
    }
}
