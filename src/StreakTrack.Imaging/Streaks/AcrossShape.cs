namespace StreakTrack.Imaging.Streaks;

/// <summary>How a streak's light is spread across its strip: measured, not assumed.</summary>
internal sealed class AcrossShape
{
    private const double FwhmPerSigma = 2.3548;

    private AcrossShape(float[] weights, double sigmaPx)
    {
        Weights = weights;
        SigmaPx = sigmaPx;
    }

    /// <summary>Share of the light in each row of the strip; the sum is 1.</summary>
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
        if (top > 0)
        {
            for (int k = 0; k < strips.Count; k++)
            {
                for (int i = 0; i < length; i++)
                {
                    if (!(peaks[(k * length) + i] > 0.4f * top))
                        continue;
                    for (int j = 0; j < rows.Length; j++)
                        rows[j] += strips[k][(j * length) + i] - ambient[(j * length) + i];
                }
            }
        }

        double sigma = roughSigmaPx;
        if (!(rows.Max() > 0) || !double.IsFinite(rows.Sum()))
            return Gaussian(band, sigma);

        double floor = 0.5 * (Mean(0, Math.Max(1, half / 4)) + Mean(rows.Length - Math.Max(1, half / 4), rows.Length));
        for (int j = 0; j < rows.Length; j++)
            rows[j] -= floor;
        sigma = Math.Max(0.7, FullWidth(rows) / FwhmPerSigma);
        if (!(sigma < 1.5 * roughSigmaPx) || !(sigma > 0.4 * roughSigmaPx))
            return Gaussian(band, roughSigmaPx);

        float[] weights = new float[rows.Length];
        double sum = 0;
        for (int j = 0; j < rows.Length; j++)
        {
            bool inside = Math.Abs(j - half) <= StripProfiler.QuietReach * sigma;
            weights[j] = inside ? (float)Math.Max(0, rows[j]) : 0;
            sum += weights[j];
        }

        for (int j = 0; j < weights.Length; j++)
            weights[j] = (float)(weights[j] / sum);
        return new AcrossShape(weights, sigma);

        // Peak above the ambient light near the middle; 0 for a column with a clipped sample.
        float PeakOf(float[] strip, int column)
        {
            float peak = 0;
            for (int j = 0; j < band.WidthPx; j++)
            {
                float value = strip[(j * length) + column];
                if (!(value < clipLevel))
                    return 0;
                if (Math.Abs(j - half) <= roughSigmaPx)
                    peak = Math.Max(peak, value - ambient[(j * length) + column]);
            }

            return peak;
        }

        double Mean(int from, int to)
        {
            double mean = 0;
            for (int j = from; j < to; j++)
                mean += rows[j] / (to - from);
            return mean;
        }
    }

    private static AcrossShape Gaussian(StripGeometry band, double sigmaPx)
    {
        float[] weights = new float[band.WidthPx];
        for (int j = 0; j < weights.Length; j++)
        {
            double t = (j - band.HalfWidthPx) / sigmaPx;
            weights[j] = Math.Abs(t) <= StripProfiler.QuietReach ? (float)Math.Exp(-0.5 * t * t) : 0;
        }

        float sum = weights.Sum();
        for (int j = 0; j < weights.Length; j++)
            weights[j] /= sum;
        return new AcrossShape(weights, sigmaPx);
    }

    private static double FullWidth(double[] rows)
    {
        int peak = Array.IndexOf(rows, rows.Max());
        double level = rows[peak] / 2;
        return Reach(+1) + Reach(-1);

        double Reach(int direction)
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
