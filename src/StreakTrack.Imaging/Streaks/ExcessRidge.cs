using MathNet.Numerics.Statistics;

namespace StreakTrack.Imaging.Streaks;

/// <summary>The line along which an <see cref="ExcessMap"/> is strongest: the streak's.</summary>
/// <param name="OffsetPx">Place of the line across the strip, in px from its middle, at the strip's middle.</param>
/// <param name="Slope">Change of that place for each px along.</param>
/// <param name="AcrossSigmaPx">Standard deviation of the streak across, in px.</param>
/// <param name="Strength">Mean excess on the line, in linear units.</param>
/// <param name="Contrast">Strength against the unrest of the other rows.</param>
internal sealed record ExcessRidge(double OffsetPx, double Slope, double AcrossSigmaPx, double Strength, double Contrast)
{
    /// <summary>Largest slope of a streak against the marks' line that is followed: about 3 degrees.</summary>
    private const double LargestSlope = 0.05;

    private const double FwhmPerSigma = 2.3548;

    /// <summary>Finds the line; null when the map is empty.</summary>
    public static ExcessRidge? Find(ExcessMap map, float[] excess)
    {
        double[] rows = RowMeans(map, excess, 0);
        int peak = PeakOf(rows);
        if (peak < 0)
            return null;

        // The slope comes from where the light's middle lies in each column; only columns with much light count.
        int reach = Math.Max(4, (int)Math.Ceiling(2 * HalfWidth(rows, peak)));
        (double offset, double slope) = LineThrough(map, excess, peak, reach, Floor(rows));
        rows = RowMeans(map, excess, slope);
        peak = PeakOf(rows);
        if (peak < 0)
            return null;
        double floor = Floor(rows);
        double half = HalfWidth(rows, peak);
        double centre = Centroid(rows, peak, floor, Math.Max(2, (int)Math.Ceiling(1.5 * half)));

        double[] others = [.. rows.Where((r, j) => double.IsFinite(r) && Math.Abs(j - peak) > 4 * half).Order()];
        if (others.Length < 8)
            return null;
        double unrest = Math.Max(others[(int)(0.9 * others.Length)] - others[others.Length / 10], 1e-5);
        double across = Math.Max(2 * half * ExcessMap.Stride / FwhmPerSigma, 0.8);
        double contrast = (rows[peak] - others[others.Length / 2]) / unrest;
        return new ExcessRidge((centre * ExcessMap.Stride) - map.HalfWidthPx, slope, across, rows[peak] - floor, contrast);
    }

    // Mean of the brightest quarter of each row, along lines of a slope: a short streak must not drown in a long row.
    private static double[] RowMeans(ExcessMap map, float[] excess, double slope)
    {
        double[] rows = new double[map.Rows];
        double[] values = new double[map.Columns];
        for (int j = 0; j < rows.Length; j++)
        {
            int count = 0;
            for (int i = 0; i < map.Columns; i++)
            {
                int row = j + (int)Math.Round(slope * (i - (map.Columns / 2.0)));
                float value = row >= 0 && row < map.Rows ? excess[(row * map.Columns) + i] : float.NaN;
                if (!float.IsNaN(value))
                    values[count++] = value;
            }

            if (count < map.Columns / 2)
            {
                rows[j] = double.NaN;
                continue;
            }

            // Only the brightest are put into order.
            double[] known = count == values.Length ? values : values[..count];
            double sum = 0;
            int from = count - Math.Max(4, count / 20);
            ArrayStatistics.OrderStatisticInplace(known, from + 1);
            Array.Sort(known, from, count - from);
            for (int k = from; k < count; k++)
                sum += known[k];
            rows[j] = sum / (count - from);
        }

        return rows;
    }

    private static int PeakOf(double[] rows)
    {
        int peak = -1;
        for (int j = 0; j < rows.Length; j++)
        {
            if (double.IsFinite(rows[j]) && (peak < 0 || rows[j] > rows[peak]))
                peak = j;
        }

        return peak;
    }

    private static double Floor(double[] rows)
    {
        double[] known = [.. rows.Where(double.IsFinite).Order()];
        return known[known.Length / 4];
    }

    // Half of the full width at half of the height, in rows.
    private static double HalfWidth(double[] rows, int peak)
    {
        double level = 0.5 * (rows[peak] + Floor(rows));
        return 0.5 * (Reach(+1) + Reach(-1));

        double Reach(int direction)
        {
            int j = peak;
            while (j + direction >= 0 && j + direction < rows.Length && rows[j + direction] >= level)
                j += direction;
            int next = j + direction;
            if (next < 0 || next >= rows.Length || !(rows[next] < level))
                return Math.Abs(j - peak);
            return Math.Abs(j - peak) + ((rows[j] - level) / (rows[j] - rows[next]));
        }
    }

    private static double Centroid(double[] rows, int peak, double floor, int reach)
    {
        double sum = 0, moment = 0;
        for (int j = Math.Max(0, peak - reach); j <= Math.Min(rows.Length - 1, peak + reach); j++)
        {
            double weight = Math.Max(0, rows[j] - floor);
            if (!double.IsFinite(weight))
                continue;
            sum += weight;
            moment += weight * j;
        }

        return sum > 0 ? moment / sum : peak;
    }

    // Weighted straight line through the columns' centroids; the slope is drawn to 0 when only a short stretch is lit.
    private static (double Offset, double Slope) LineThrough(
        ExcessMap map, float[] excess, int peak, int reach, double floor)
    {
        double offset = peak, slope = 0;
        for (int round = 0; round < 3; round++)
        {
            double s0 = 0, s1 = 0, s2 = 0, t0 = 0, t1 = 0;
            for (int i = 0; i < map.Columns; i++)
            {
                double along = i - (map.Columns / 2.0);
                int middle = (int)Math.Round(offset + (slope * along));
                double light = 0, moment = 0;
                for (int j = Math.Max(0, middle - reach); j <= Math.Min(map.Rows - 1, middle + reach); j++)
                {
                    double value = excess[(j * map.Columns) + i] - floor;
                    if (!(value > 0))
                        continue;
                    light += value;
                    moment += value * j;
                }

                if (light <= 0)
                    continue;
                double centroid = moment / light, weight = light * light;
                s0 += weight;
                s1 += weight * along;
                s2 += weight * along * along;
                t0 += weight * centroid;
                t1 += weight * along * centroid;
            }

            if (s0 <= 0)
                break;
            double mean = s1 / s0, spread = s2 - (s1 * mean), shortest = 20.0 * 20.0 * s0;
            slope = Math.Clamp((t1 - (t0 * mean)) / (spread + shortest), -LargestSlope, LargestSlope);
            offset = (t0 / s0) - (slope * mean);
        }

        return (offset, slope);
    }
}
