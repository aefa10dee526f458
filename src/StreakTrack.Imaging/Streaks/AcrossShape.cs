namespace StreakTrack.Imaging.Streaks;

/// <summary>How a streak's light is spread across its strip: measured, not assumed.</summary>
internal sealed class AcrossShape
{
    private const double FwhmPerSigma = 2.3548;

    /// <summary>Brightness, against the brightest unclipped column, from which a column tells its own shape.</summary>
    private const float LeastLit = 0.1f;

    /// <summary>Weight of the common shape in a column's own, as a share of the brightest column.</summary>
    private const float Prior = 0.1f;

    /// <summary>How far the light must stand out from the outermost rows for its width to be told.</summary>
    private const double LeastContrast = 5;

    internal AcrossShape(float[] weights, double sigmaPx)
    {
        Weights = weights;
        SigmaPx = sigmaPx;
    }

    /// <summary>Share of each sample of the strip in the light of its column; the sum of a column is 1. Ticks that reach under a part
    /// of the
    /// streak are in it, so that a part of the column stands for the whole.</summary>
    public float[] Weights { get; }

    /// <summary>Standard deviation of a Gaussian of the same width at half height, in px.</summary>
    public double SigmaPx { get; }

    /// <summary>Measures the shape on columns that are bright and nowhere clipped.</summary>
    /// <param name="band">The strip.</param>
    /// <param name="strips">Samples of the strip in a few frames.</param>
    /// <param name="ambient">The same without the laser.</param>
    /// <param name="roughSigmaPx">A first value of the width.</param>
    /// <param name="clipLevel">Light at and above which a sample is clipped.</param>
    public static AcrossShape Of(StripGeometry band, IReadOnlyList<float[]> strips, float[] ambient, double roughSigmaPx, float clipLevel)
    {
        int length = band.LengthPx, half = band.HalfWidthPx;
        float[] peaks = new float[strips.Count * length];
        for (int k = 0; k < strips.Count; k++)
        {
            for (int i = 0; i < length; i++)
                peaks[(k * length) + i] = PeakOf(strips[k], i);
        }

        // The brightest column that is not clipped sets the level from which columns count.
        float top = peaks.Where(p => p > 0).DefaultIfEmpty(0).Max();
        double[] rows = new double[band.WidthPx];
        int[] counts = new int[rows.Length];
        if (top > 0)
        {
            for (int k = 0; k < strips.Count; k++)
            {
                for (int i = 0; i < length; i++)
                {
                    if (!(peaks[(k * length) + i] > 0.4f * top))
                        continue;
                    for (int j = 0; j < rows.Length; j++)
                    {
                        float value = strips[k][(j * length) + i] - ambient[(j * length) + i];
                        if (float.IsNaN(value))
                            continue;
                        rows[j] += value;
                        counts[j]++;
                    }
                }
            }
        }

        // Rows outside the picture have nothing to say.
        for (int j = 0; j < rows.Length; j++)
            rows[j] = counts[j] > 0 ? rows[j] / counts[j] : double.NaN;

        if (!(WidthOf(rows) is double sigma && sigma < 1.5 * roughSigmaPx))
            return Gaussian(band, roughSigmaPx);

        var common = new float[rows.Length];
        for (int j = 0; j < rows.Length; j++)
            common[j] = Math.Abs(j - half) <= StripProfiler.QuietReach * sigma ? (float)Math.Max(0, rows[j]) : 0;
        Normalise(common);
        return new AcrossShape(PerColumn(common), sigma);

        // Each column's own shape from the frames in which it is lit and not clipped; the common shape where there is none, and as a
        // little
        // of a prior against the noise of a single frame.
        float[] PerColumn(float[] shape)
        {
            float[] weights = new float[rows.Length * length], column = new float[rows.Length];
            for (int i = 0; i < length; i++)
            {
                column.AsSpan().Clear();
                for (int k = 0; k < strips.Count; k++)
                {
                    if (!(peaks[(k * length) + i] > LeastLit * top))
                        continue;
                    for (int j = 0; j < rows.Length; j++)
                    {
                        if (shape[j] == 0)
                            continue;
                        float value = strips[k][(j * length) + i] - ambient[(j * length) + i];
                        column[j] += float.IsNaN(value) ? 0 : value;
                    }
                }

                float prior = Prior * top * (float)(2.5 * sigma);
                for (int j = 0; j < rows.Length; j++)
                    column[j] = Math.Max(0, column[j]) + (prior * shape[j]);
                Normalise(column);
                for (int j = 0; j < rows.Length; j++)
                    weights[(j * length) + i] = column[j];
            }

            return weights;
        }

        // Peak above the ambient light near the middle; 0 for a column with a clipped sample.
        float PeakOf(float[] strip, int column)
        {
            float peak = 0;
            for (int j = 0; j < band.WidthPx; j++)
            {
                float value = strip[(j * length) + column];
                if (value >= clipLevel)
                    return 0;
                float light = value - ambient[(j * length) + column];
                if (Math.Abs(j - half) <= roughSigmaPx && light > peak)
                    peak = light;
            }

            return peak;
        }
    }

    /// <summary>Width of the light summed along a streak, as <see cref="SigmaPx"/>; NaN where it does not stand out from the outermost rows.</summary>
    /// <param name="rows">Light of each row of the strip, NaN where there is none; what lies beside the streak is taken off it, and rows without light
    /// become 0.</param>
    public static double WidthOf(Span<double> rows)
    {
        int outer = Math.Max(1, rows.Length / 8);
        double sum = 0;
        int count = 0;
        for (int j = 0; j < rows.Length; j++)
        {
            if ((j < outer || j >= rows.Length - outer) && double.IsFinite(rows[j]))
                (sum, count) = (sum + rows[j], count + 1);
        }

        if (count == 0)
            return double.NaN;
        double floor = sum / count, unrest = 0, most = 0;
        for (int j = 0; j < rows.Length; j++)
        {
            if ((j < outer || j >= rows.Length - outer) && double.IsFinite(rows[j]))
                unrest = Math.Max(unrest, Math.Abs(rows[j] - floor));
            rows[j] = double.IsNaN(rows[j]) ? 0 : rows[j] - floor;
            most = Math.Max(most, rows[j]);
        }

        return most > LeastContrast * unrest ? Math.Max(0.7, FullWidth(rows) / FwhmPerSigma) : double.NaN;
    }

    private static AcrossShape Gaussian(StripGeometry band, double sigmaPx)
    {
        float[] shape = new float[band.WidthPx], weights = new float[band.WidthPx * band.LengthPx];
        for (int j = 0; j < shape.Length; j++)
        {
            double t = (j - band.HalfWidthPx) / sigmaPx;
            shape[j] = Math.Abs(t) <= StripProfiler.QuietReach ? (float)Math.Exp(-0.5 * t * t) : 0;
        }

        Normalise(shape);
        for (int j = 0; j < shape.Length; j++)
            weights.AsSpan(j * band.LengthPx, band.LengthPx).Fill(shape[j]);
        return new AcrossShape(weights, sigmaPx);
    }

    private static void Normalise(float[] shape)
    {
        float sum = shape.Sum();
        for (int j = 0; j < shape.Length; j++)
            shape[j] /= sum;
    }

    private static double FullWidth(ReadOnlySpan<double> rows)
    {
        int peak = 0;
        for (int j = 1; j < rows.Length; j++)
            peak = rows[j] > rows[peak] ? j : peak;
        double level = rows[peak] / 2;
        return Reach(rows, +1) + Reach(rows, -1);

        double Reach(ReadOnlySpan<double> rows, int direction)
        {
            int j = peak;
            while (j + direction >= 0 && j + direction < rows.Length && rows[j + direction] >= level)
                j += direction;
            int next = j + direction;
            double beyond = next >= 0 && next < rows.Length ? (rows[j] - level) / (rows[j] - rows[next]) : 0;
            return Math.Abs(j - peak) + beyond;
        }
    }
}
