using StreakTrack.Core;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>What a few frames of a clip tell before the streak is measured: where the band is, in which channel, what the scene looks like
/// without the laser, and how wide the spot is.</summary>
internal sealed class StreakSurvey
{
    private StreakSurvey(StripGeometry band, double offset, LightChannel channel, double acrossSigma, float[] ambient, double spotSigma)
    {
        Band = band;
        OffsetPx = offset;
        Channel = channel;
        AcrossSigmaPx = acrossSigma;
        Ambient = ambient;
        SpotSigmaPx = spotSigma;
    }

    /// <summary>The strip that the streak lies in, with room on either side for the background.</summary>
    public StripGeometry Band { get; }

    /// <summary>Distance of the band's middle from the line through the marks, in px.</summary>
    public double OffsetPx { get; }

    /// <summary>The channel in which the beam stands out.</summary>
    public LightChannel Channel { get; }

    /// <summary>Standard deviation of the streak across the band, in px.</summary>
    public double AcrossSigmaPx { get; }

    /// <summary>The scene without the laser, sample by sample of the band.</summary>
    public float[] Ambient { get; }

    /// <summary>Standard deviation of the spot along the streak, in px.</summary>
    public double SpotSigmaPx { get; }

    /// <summary>Half width of the band, in standard deviations of the streak across it: the streak itself and as much again on either side.</summary>
    private const double BandReach = 8;

    /// <summary>The streak must stand out from the noise of its surroundings this many times to be taken for one.</summary>
    private const double LeastContrast = 8;

    /// <summary>Looks at the survey frames.</summary>
    public static StreakSurvey Of(ClipFacts facts, RulerAxis axis, StreakOptions options, IReadOnlyList<RawFrame> frames)
    {
        int smallerSide = Math.Min(facts.Orientation.CodedWidth, facts.Orientation.CodedHeight);
        StripGeometry wide = StripGeometry.Along(facts.Orientation, axis, options.SearchHalfWidthPx ?? smallerSide / 4);

        (LightChannel Channel, double[] Rows, double Contrast) best = (LightChannel.Red, [], double.NegativeInfinity);
        foreach (LightChannel channel in new[] { LightChannel.Red, LightChannel.Green, LightChannel.Blue })
        {
            double[] rows = ActivityByRow(wide, Strips(facts, wide, channel, frames));
            double contrast = Contrast(rows);
            if (contrast > best.Contrast)
                best = (channel, rows, contrast);
        }

        if (!(best.Contrast > LeastContrast))
        {
            throw new UnusableInputException(Path.GetFileName(facts.Path), "nothing that changes like a laser streak was found along the marks",
                "Check the marks, and film so that the streak lies on the ruler or just beside it.");
        }

        (double centre, double sigma) = Peak(best.Rows);
        double offset = centre - wide.HalfWidthPx;
        StripGeometry band = wide.Shifted(offset, Math.Max(4, (int)Math.Ceiling(BandReach * sigma)));
        List<float[]> strips = Strips(facts, band, best.Channel, frames);
        float[] ambient = AmbientOf(band, strips, sigma);
        double spot = SpotSigmaOf(band, strips, ambient, sigma, options);
        return new StreakSurvey(band, offset, best.Channel, sigma, ambient, spot);
    }

    private static List<float[]> Strips(ClipFacts facts, StripGeometry strip, LightChannel channel, IReadOnlyList<RawFrame> frames)
    {
        var light = new LinearLight(facts.Colour, channel);
        var strips = new List<float[]>();
        StripSampler? sampler = null;
        float[] picture = [];
        foreach (RawFrame frame in frames)
        {
            sampler ??= new StripSampler(strip, frame.Region);
            if (picture.Length == 0)
                picture = new float[frame.Region.Width * frame.Region.Height];
            light.Convert(frame, picture);
            float[] samples = new float[sampler.Count];
            sampler.Sample(picture, samples);
            strips.Add(samples);
        }

        return strips;
    }

    // How much each row across the strip changes over the clip: the streak grows and shrinks, the ruler does not.
    private static double[] ActivityByRow(StripGeometry strip, List<float[]> strips)
    {
        double[] rows = new double[strip.WidthPx];
        float[] values = new float[strips.Count];
        for (int j = 0; j < rows.Length; j++)
        {
            double sum = 0;
            int count = 0;
            for (int i = 0; i < strip.LengthPx; i++)
            {
                int at = (j * strip.LengthPx) + i;
                for (int k = 0; k < values.Length; k++)
                    values[k] = strips[k][at];
                if (float.IsNaN(values[0]))
                    continue;
                Array.Sort(values);
                sum += values[^1] - values[0];
                count++;
            }

            rows[j] = count > strip.LengthPx / 2 ? sum / count : double.NaN;
        }

        return rows;
    }

    private static double Contrast(double[] rows)
    {
        double[] known = [.. rows.Where(double.IsFinite).Order()];
        if (known.Length < 8)
            return 0;
        double median = known[known.Length / 2];
        double spread = median - known[known.Length / 10];
        return (known[^1] - median) / Math.Max(spread, 1e-4);
    }

    // Centre and standard deviation of the highest peak, from the rows above half its height.
    private static (double Centre, double Sigma) Peak(double[] rows)
    {
        double floor = rows.Where(double.IsFinite).Order().ElementAt(rows.Count(double.IsFinite) / 2);
        int top = 0;
        for (int j = 1; j < rows.Length; j++)
        {
            if (rows[j] > rows[top] || double.IsNaN(rows[top]))
                top = j;
        }

        double half = floor + ((rows[top] - floor) / 2);
        double first = Crossing(-1), last = Crossing(+1);
        return ((first + last) / 2, (last - first) / (2 * Math.Sqrt(2 * Math.Log(2))));

        double Crossing(int direction)
        {
            int j = top;
            while (j + direction >= 0 && j + direction < rows.Length && rows[j + direction] >= half)
                j += direction;
            int next = Math.Clamp(j + direction, 0, rows.Length - 1);
            double fall = rows[j] - rows[next];
            return fall > 0 ? j + (direction * (rows[j] - half) / fall) : j;
        }
    }

    // The scene without the laser: of each sample the median over the frames in which the streak stays away from it; where it never does,
    // what lies beside the streak at the same place along the ruler.
    private static float[] AmbientOf(StripGeometry band, List<float[]> strips, double acrossSigma)
    {
        int length = band.LengthPx;
        float[] lowest = new float[length * band.WidthPx];
        for (int at = 0; at < lowest.Length; at++)
            lowest[at] = strips.Min(s => s[at]);

        // Which places the streak covers in which frame, from a first look with the lowest values as ambient.
        var profiler = new StripProfiler(band, acrossSigma);
        bool[][] covered = new bool[strips.Count][];
        float[] light = new float[length];
        for (int k = 0; k < strips.Count; k++)
        {
            profiler.Profile(strips[k], lowest, light, out double noise);
            covered[k] = new bool[length];
            float peak = 0;
            foreach (float value in light)
                peak = float.IsNaN(value) ? peak : Math.Max(peak, value);
            int margin = (int)Math.Ceiling(6 * acrossSigma);
            for (int i = 0; i < length; i++)
            {
                if (!(light[i] > Math.Max(6 * noise, 0.1 * peak)))
                    continue;
                for (int m = Math.Max(0, i - margin); m <= Math.Min(length - 1, i + margin); m++)
                    covered[k][m] = true;
            }
        }

        float[] ambient = new float[lowest.Length];
        var free = new List<float>();
        int quiet = (int)Math.Ceiling(4 * acrossSigma);
        for (int i = 0; i < length; i++)
        {
            int[] open = [.. Enumerable.Range(0, strips.Count).Where(k => !covered[k][i])];
            for (int j = 0; j < band.WidthPx; j++)
            {
                int at = (j * length) + i;
                bool beside = Math.Abs(j - band.HalfWidthPx) > quiet;
                free.Clear();
                foreach (int k in open)
                    free.Add(strips[k][at]);
                if (free.Count == 0 && beside)
                    free.AddRange(strips.Select(s => s[at]));
                ambient[at] = free.Count > 0 ? Median(free) : float.PositiveInfinity;
            }

            // Never uncovered: carried across from both sides.
            float above = Mean(i, 0, band.HalfWidthPx - quiet), below = Mean(i, band.HalfWidthPx + quiet + 1, band.WidthPx);
            for (int j = 0; j < band.WidthPx; j++)
            {
                int at = (j * length) + i;
                if (float.IsPositiveInfinity(ambient[at]))
                {
                    float share = (j - (band.HalfWidthPx - quiet)) / (float)Math.Max(1, 2 * quiet);
                    ambient[at] = above + (share * (below - above));
                }
            }
        }

        return ambient;

        float Mean(int i, int from, int to)
        {
            float sum = 0;
            for (int j = from; j < to; j++)
                sum += ambient[(j * length) + i];
            return sum / Math.Max(1, to - from);
        }
    }

    private static float Median(List<float> values)
    {
        values.Sort();
        return values.Count % 2 == 1 ? values[values.Count / 2] : 0.5f * (values[(values.Count / 2) - 1] + values[values.Count / 2]);
    }

    // The spot's width along the streak, fitted on the frames with the longest streaks: one number for the clip.
    private static double SpotSigmaOf(StripGeometry band, List<float[]> strips, float[] ambient, double acrossSigma, StreakOptions options)
    {
        var profiler = new StripProfiler(band, acrossSigma);
        var fitter = new StreakProfileFitter();
        float[] light = new float[band.LengthPx];
        var sigmas = new List<float>();
        foreach (float[] strip in strips)
        {
            profiler.Profile(strip, ambient, light, out double noise);
            CoarseStreak? coarse = CoarseStreak.Find(light, noise, acrossSigma, options.ThresholdFraction);
            if (coarse is null || coarse.Value.HalfLengthPx < 5 * acrossSigma)
                continue;
            StreakProfileFit fit = fitter.Fit(light, noise, coarse.Value.Guess(acrossSigma), freeSigma: true);
            if (fit.Converged)
                sigmas.Add((float)fit.Parameters.SigmaPx);
        }

        return sigmas.Count > 0 ? Median(sigmas) : acrossSigma;
    }
}
