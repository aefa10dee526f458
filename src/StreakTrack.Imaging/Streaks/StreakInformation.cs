using MathNet.Numerics;

namespace StreakTrack.Imaging.Streaks;

/// <summary>How well a channel tells where a streak ends.</summary>
internal static class StreakInformation
{
    /// <summary>How far from an end, in standard deviations of the spot, the light tells where it lies.</summary>
    private const double EndReach = 3;

    /// <summary>Distance from the streak's ends at which its light is gone, in standard deviations of the spot.</summary>
    private const double Far = 5;

    /// <summary>What half resolution and coarse steps leave of colour differences, as a share of the samples' range (from memory: one to two codes at the rates
    /// at which phones code).</summary>
    private const double ColourDifferenceSd = 0.02;

    /// <summary>Share of a streak's places that may be clipped all across for its ends to be told.</summary>
    private const double MostClipped = 0.5;

    /// <summary>How well the spot's width across is known where its middle is clipped, as a share: by the few frames that show it unclipped.</summary>
    private const double WidthSd = 0.05;

    /// <summary>How many times larger a relative error of light is than one of its code: the exponent of the usual transfer functions, about.</summary>
    private const double CodeToLight = 2.2;

    /// <summary>Places without a streak that its surroundings are judged by, at least.</summary>
    private const int LeastOutside = 32;

    /// <summary>Where the streak ends in each frame, by threshold, in a channel that may be clipped; null where there is none.</summary>
    /// <param name="band">The strip.</param>
    /// <param name="strips">Samples of the strip in a few frames.</param>
    /// <param name="ambient">The same without the laser.</param>
    /// <param name="acrossSigmaPx">The streak's standard deviation across the strip.</param>
    public static CoarseStreak?[] EndsOf(StripGeometry band, IReadOnlyList<float[]> strips, float[] ambient, double acrossSigmaPx)
    {
        int length = band.LengthPx, half = band.HalfWidthPx, core = (int)Math.Min(half, acrossSigmaPx);
        float[] profile = new float[length], scratch = new float[length];
        var ends = new CoarseStreak?[strips.Count];
        for (int k = 0; k < ends.Length; k++)
        {
            profile.AsSpan().Clear();
            for (int at = (half - core) * length; at < (half + core + 1) * length; at++)
                profile[at % length] += strips[k][at] - ambient[at];
            var noise = new ProfileNoise(StreakScene.NoiseOf(profile, band), StreakScene.RelativeDisturbance, acrossSigmaPx);
            ends[k] = CoarseStreak.Find(profile, noise, acrossSigmaPx, 0.5, double.NaN, scratch, band.CrossesRows);
        }

        return ends;
    }

    /// <summary>Information of a channel on the place of the ends, in 1/px^2: squared slope of the light along the streak over its variance,
    /// summed around the ends; three frames in four are told at least as well.</summary>
    /// <remarks>
    /// The variance is the profile's: noise, speckle and texture in proportion to the light, both larger the more of a column is clipped,
    /// and what is not known of a spot's tails in proportion to its peak. In a primary that is not the beam's own, luma and colour differences must cancel for the
    /// beam's own light; what the codec leaves of the differences does not, and it goes with the beam's light and its weight in luma.
    /// </remarks>
    /// <param name="band">The strip.</param>
    /// <param name="strips">Samples of the strip in a few frames.</param>
    /// <param name="ambient">The same without the laser.</param>
    /// <param name="across">How the streak's light is spread across the strip in this channel.</param>
    /// <param name="clipLevel">Light at and above which a sample is clipped.</param>
    /// <param name="ends">Where the streak ends.</param>
    /// <param name="own">The beam's own primary, where <paramref name="strips"/> are of another; its weight in luma.</param>
    public static double Of(
        StripGeometry band, IReadOnlyList<float[]> strips, float[] ambient, AcrossShape across, float clipLevel, CoarseStreak?[] ends,
        (IReadOnlyList<float[]> Strips, float[] Ambient, double InLuma)? own = null)
    {
        var profiler = new StripProfiler(band, across, ambient, clipLevel);
        int length = band.LengthPx, step = Math.Max(1, (int)Math.Round(0.5 * across.SigmaPx));
        float[] light = new float[length];
        var informations = new List<double>();
        for (int k = 0; k < strips.Count; k++)
        {
            if (ends[k] is not CoarseStreak streak)
                continue;
            profiler.Profile(strips[k], light);

            // Where hardly a place of a streak can be told its light, its ends are the tails of something much brighter than is known.
            int from = Math.Max(0, (int)streak.FirstEndPx), to = Math.Min(length - 1, (int)streak.SecondEndPx);
            if (light.AsSpan(from, Math.Max(1, to - from + 1)).ToArray().Count(float.IsNaN) > MostClipped * (to - from + 1))
            {
                informations.Add(0);
                continue;
            }

            (double noise, double slopeNoise) = Unrest(light, band, streak, across.SigmaPx, step);
            double peak = light.Where(v => !float.IsNaN(v)).DefaultIfEmpty(0).Max(), information = 0;
            for (int i = step; i + step < length; i++)
            {
                double fromEnd = Math.Min(Math.Abs(i - streak.FirstEndPx), Math.Abs(i - streak.SecondEndPx));
                double slope = Slope(light, i, step), left = profiler.InformationLeft(i);
                if (fromEnd > EndReach * across.SigmaPx || !double.IsFinite(slope) || float.IsNaN(light[i]))
                    continue;
                double relative = Square(StreakScene.RelativeDisturbance);
                if (own is { } beam)
                {
                    double ratio = Brightest(beam.Strips[k], beam.Ambient, i) / Math.Max(Brightest(strips[k], ambient, i), 1e-4f);
                    relative += Square(CodeToLight * ColourDifferenceSd * beam.InLuma * Math.Pow(Math.Max(ratio, 0), 1 / CodeToLight));
                }

                // Light that is clipped in the middle is told by the flanks, from the distance of which, x sigma / sqrt 2, it is exp(x^2) times what is seen there.
                relative += Square(2 * WidthSd * Square(SpecialFunctions.ErfcInv(Math.Clamp(left, 1e-6, 1))));
                double disturbance = (noise * noise) + (relative * light[i] * light[i]);
                double variance = (disturbance / left) + Square(ProfileFitter.TailSd * peak);

                // A slope that is seen without a streak as well says nothing.
                information += Math.Max(0, (slope * slope) - (slopeNoise * slopeNoise / left)) / variance;
            }

            informations.Add(information);
        }

        // The frames that are told worst count: a faint channel does well where short streaks make it bright, and has no use for long ones.
        informations.Sort();
        return informations.Count == 0 ? 0 : informations[(informations.Count - 1) / 4];

        // Of a column, within a standard deviation of the middle.
        float Brightest(float[] strip, float[] dark, int column)
        {
            float most = 0;
            int reach = (int)Math.Min(band.HalfWidthPx, across.SigmaPx);
            for (int j = band.HalfWidthPx - reach; j <= band.HalfWidthPx + reach; j++)
                most = Math.Max(most, strip[(j * length) + column] - dark[(j * length) + column]);
            return most;
        }
    }

    // Standard deviations of light and slope where there is no streak; ticks that are not quite taken off are in them.
    private static (double Light, double Slope) Unrest(float[] light, StripGeometry band, in CoarseStreak streak, double sigmaPx, int step)
    {
        var lights = new List<double>();
        var slopes = new List<double>();
        for (int i = step; i + step < light.Length; i++)
        {
            double slope = Slope(light, i, step);
            bool outside = i < streak.FirstEndPx - (Far * sigmaPx) || i > streak.SecondEndPx + (Far * sigmaPx);
            if (!outside || !double.IsFinite(slope) || float.IsNaN(light[i]))
                continue;
            lights.Add(Math.Abs(light[i]));
            slopes.Add(Math.Abs(slope));
        }

        if (lights.Count < LeastOutside)
            return (StreakScene.NoiseOf(light, band), 0);
        lights.Sort();
        slopes.Sort();

        // 0.6745 is the median of the absolute value of a standard normal variable.
        return (Math.Max(lights[lights.Count / 2] / 0.6745, 1e-5), slopes[slopes.Count / 2] / 0.6745);
    }

    private static double Slope(float[] light, int place, int step) => (light[place + step] - light[place - step]) / (2.0 * step);

    private static double Square(double x) => x * x;
}
