using StreakTrack.Core;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>What a few frames of a clip tell before the streak is measured: where the band is, in which channel, and what the scene looks
/// like without the laser.</summary>
internal sealed class StreakSurvey
{
    private StreakSurvey(
        StripGeometry band, double offset, LightChannel channel, AcrossShape across, float[] ambient, float clipLevel,
        RulerTracking? tracking)
    {
        Tracking = tracking;
        Band = band;
        OffsetPx = offset;
        Channel = channel;
        Across = across;
        Ambient = ambient;
        ClipLevel = clipLevel;
    }

    /// <summary>The strip that the streak lies in, with room on either side for the background.</summary>
    public StripGeometry Band { get; }

    /// <summary>Distance of the band's middle from the line through the marks, in px, at the middle of the picture.</summary>
    public double OffsetPx { get; }

    /// <summary>The channel in which the beam is measured.</summary>
    public LightChannel Channel { get; }

    /// <summary>How the streak's light is spread across the band.</summary>
    public AcrossShape Across { get; }

    /// <summary>The scene without the laser, sample by sample of the band.</summary>
    public float[] Ambient { get; }

    /// <summary>Light at and above which a sample counts as clipped.</summary>
    public float ClipLevel { get; }

    /// <summary>What follows the ruler; null when it stands still.</summary>
    public RulerTracking? Tracking { get; }

    /// <summary>Half width of the band, in standard deviations of the streak across it: the streak itself and background on either
    /// side.</summary>
    private const double BandReach = 7;

    /// <summary>The streak must stand out from its surroundings this many times their own unrest to be taken for one.</summary>
    private const double LeastContrast = 8;

    /// <summary>A channel with more than this share of clipped samples along the streak's middle gives way to one without.</summary>
    private const double MuchClipped = 0.05;

    /// <summary>Signal to noise that another channel must have to be measured in instead.</summary>
    private const double GoodContrast = 40;

    private static readonly LightChannel[] Primaries = [LightChannel.Red, LightChannel.Green, LightChannel.Blue];

    /// <summary>Looks at the survey frames.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="scale">The ruler's scale.</param>
    /// <param name="wide">The strip to search.</param>
    /// <param name="sample">Frames from all over the clip, at least one.</param>
    /// <param name="channel">The channel to measure in; null to choose.</param>
    /// <exception cref="UnusableInputException">There is no streak.</exception>
    public static StreakSurvey Of(
        ClipFacts facts, RulerScale scale, StripGeometry wide, FrameSample sample, LightChannel? channel)
    {
        IReadOnlyList<RawFrame> frames = sample.Frames;
        ExcessMap map = ExcessMap.Of(sample, wide);
        ExcessRidge? found = null;
        LightChannel primary = LightChannel.Red;
        foreach (bool changing in new[] { true, false })
        {
            // What changes is the streak; only a streak that never changes is looked for in the still picture.
            for (int c = 0; c < Primaries.Length; c++)
            {
                ExcessRidge? ridge = ExcessRidge.Find(map, changing ? map.Change[c] : map.Least[c]);
                if (ridge is not null && ridge.Contrast > LeastContrast && (found is null || ridge.Strength > found.Strength))
                    (found, primary) = (ridge, Primaries[c]);
            }

            if (found is not null)
                break;
        }

        if (found is null)
        {
            throw new UnusableInputException(Path.GetFileName(facts.Path),
                "nothing that looks and changes like a laser streak was found along the marks",
                "Check the marks, and film so that the streak lies on the ruler or just beside it.");
        }

        StripGeometry band = wide.Along(found.OffsetPx, found.Slope, Math.Max(5, (int)Math.Ceiling(BandReach * found.AcrossSigmaPx)));
        float clipLevel = new LinearLight(sample.Colour, primary).ClippedFrom;
        RulerTracking? tracking = RulerTracking.Begin(
            facts, scale, band, StripProfiler.QuietReach * found.AcrossSigmaPx, frames, out IReadOnlyList<RulerMotion>? motions);
        StripPlacement[] placements =
            [.. Enumerable.Range(0, frames.Count).Select(k => motions is null ? band.Placement() : band.Placement(motions[k]))];
        PixelRegion all = frames[0].Region, part = motions is null ? RegionAlignment.Within(all, band.Region()) : all;
        List<float[]>[] strips = [.. Primaries.Select(p => Strips(sample, part, band, placements, p))];
        int own = Array.IndexOf(Primaries, primary);
        bool[] always = AlwaysLit.Of(band, strips[own], (strips[(own + 1) % 3], strips[(own + 2) % 3]), found.AcrossSigmaPx);
        LightChannel chosen = channel ?? Primaries[ChooseChannel(band, strips, own, clipLevel)];
        List<float[]> measured = chosen == LightChannel.Luma
            ? Strips(sample, part, band, placements, chosen)
            : strips[Array.IndexOf(Primaries, chosen)];
        ToOneExposure(band, measured, found.AcrossSigmaPx);
        float[] ambient = AmbientOf(band, measured, always, found.AcrossSigmaPx);
        AcrossShape across = AcrossShape.Of(band, measured, ambient, found.AcrossSigmaPx, clipLevel);
        return new StreakSurvey(band, found.OffsetPx, chosen, across, ambient, clipLevel, tracking);
    }

    // The beam's own primary, unless it is clipped and another one carries the beam well enough: even a deep red beam leaves some light
    // in the green of a camera.
    private static int ChooseChannel(StripGeometry band, List<float[]>[] strips, int own, float clipLevel)
    {
        (_, double clipped) = Quality(band, strips[own], clipLevel);
        (int Channel, double Contrast) best = (own, double.NaN);
        for (int c = 0; c < Primaries.Length && clipped > MuchClipped; c++)
        {
            (double contrast, double otherClipped) = Quality(band, strips[c], clipLevel);
            if (c != own && contrast > GoodContrast && otherClipped < MuchClipped && !(contrast <= best.Contrast))
                best = (c, contrast);
        }

        return best.Channel;
    }

    // Contrast of the middle row between its bright and its dark parts against the unrest of the outermost rows; and the share of the
    // bright part that is clipped.
    private static (double Contrast, double Clipped) Quality(StripGeometry band, List<float[]> strips, float clipLevel)
    {
        int length = band.LengthPx, middle = band.HalfWidthPx * length;
        var bright = new List<float>();
        var unrest = new List<float>();
        foreach (float[] strip in strips)
        {
            for (int i = 2; i < length; i += 2)
            {
                float value = strip[middle + i], d = Math.Abs(strip[i] - strip[i - 2]);
                if (float.IsNaN(value) || float.IsNaN(d))
                    continue;
                bright.Add(value);
                unrest.Add(d);
            }
        }

        if (bright.Count < 16)
            return (0, 0);
        bright.Sort();
        unrest.Sort();
        float top = bright[(int)(0.98 * bright.Count)], low = bright[(int)(0.05 * bright.Count)];
        float half = 0.5f * (top + low);
        int above = bright.Count(v => v > half), clipped = bright.Count(v => v >= clipLevel);
        double noise = Math.Max(unrest[(int)(0.8 * unrest.Count)], 5e-4);
        return ((top - low) / noise, clipped / (double)Math.Max(1, above));
    }

    private static List<float[]> Strips(
        FrameSample sample, PixelRegion part, StripGeometry strip, StripPlacement[] placements, LightChannel channel)
    {
        var light = new LinearLight(sample.Colour, channel);
        var strips = new List<float[]>();
        var sampler = new StripSampler(strip, part);
        float[] picture = new float[part.Width * part.Height];
        foreach (RawFrame frame in sample.Frames)
        {
            light.Convert(frame, part, picture);
            float[] samples = new float[sampler.Count];
            sampler.Sample(picture, placements[strips.Count], samples);
            strips.Add(samples);
        }

        return strips;
    }

    // Brings the strips to the exposure of the first, so that the least over the frames is not that of the darkest exposure.
    private static void ToOneExposure(StripGeometry band, List<float[]> strips, double acrossSigma)
    {
        bool[] beside =
            [.. Enumerable.Range(0, band.WidthPx).Select(j => Math.Abs(j - band.HalfWidthPx) > StripProfiler.QuietReach * acrossSigma)];
        foreach (float[] strip in strips.Skip(1))
        {
            float gain = (float)SceneGain.Of(strip, strips[0], beside, band.LengthPx);
            if (!(gain > 0.1f))
                continue;
            for (int i = 0; i < strip.Length; i++)
                strip[i] /= gain;
        }
    }

    // The scene without the laser: of each sample the least over the frames; where the streak never leaves a place, what lies on either
    // side of it along the ruler. The rest is left to the profiles, of which there are many more.
    private static float[] AmbientOf(StripGeometry band, List<float[]> strips, bool[] always, double acrossSigma)
    {
        int length = band.LengthPx, half = band.HalfWidthPx;
        float[] ambient = new float[length * band.WidthPx];
        for (int at = 0; at < ambient.Length; at++)
        {
            float least = float.MaxValue;
            foreach (float[] strip in strips)
                least = Math.Min(least, strip[at]);
            ambient[at] = least;
        }

        // Where the streak never leaves a place, the rows go on as they do on either side of it.
        int reach = Math.Max(8, (int)Math.Ceiling(4 * acrossSigma));
        for (int from = 0; from < length; from++)
        {
            if (!always[from])
                continue;
            int to = from;
            while (to + 1 < length && always[to + 1])
                to++;
            for (int j = 0; j < band.WidthPx; j++)
                Bridge(ambient.AsSpan(j * length, length), from, to, reach);
            from = to;
        }

        return ambient;
    }

    private static void Bridge(Span<float> row, int from, int to, int reach)
    {
        float left = Mean(row[Math.Max(0, from - reach)..from]), right = Mean(row[(to + 1)..Math.Min(row.Length, to + 1 + reach)]);
        if (float.IsNaN(left))
            left = float.IsNaN(right) ? 0 : right;
        if (float.IsNaN(right))
            right = left;
        for (int i = from; i <= to; i++)
            row[i] = left + ((right - left) * (i - from + 1) / (to - from + 2));

        static float Mean(ReadOnlySpan<float> values)
        {
            float sum = 0;
            int count = 0;
            foreach (float value in values)
            {
                if (float.IsNaN(value))
                    continue;
                sum += value;
                count++;
            }

            return count > 0 ? sum / count : float.NaN;
        }
    }
}
