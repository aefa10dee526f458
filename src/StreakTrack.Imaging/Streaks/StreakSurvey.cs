using StreakTrack.Core;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>What a few frames of a clip tell before the streak is measured: where the band is, in which channel, and what the scene looks
/// like without the laser.</summary>
internal sealed class StreakSurvey
{
    private readonly Task<RulerPicture> _ruler;

    internal StreakSurvey(
        StripGeometry band, double offset, LightChannel channel, AcrossShape across, float[] ambient, float clipLevel,
        RulerTracking? tracking, Task<RulerPicture> ruler)
    {
        Tracking = tracking;
        _ruler = ruler;
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

    /// <summary>The ruler where it lies in the clip's first frame: the usual picture where it stands still, else that frame.</summary>
    public RulerPicture Ruler => _ruler.GetAwaiter().GetResult();

    /// <summary>Half width of the band, in standard deviations of the streak across it: the streak itself and background on either
    /// side.</summary>
    private const double BandReach = 7;

    /// <summary>The streak must stand out from its surroundings this many times their own unrest to be taken for one.</summary>
    private const double LeastContrast = 8;

    /// <summary>A streak that measures less than this share of its first width is measured again with its own.</summary>
    private const double MuchNarrower = 0.7;

    /// <summary>Share of the frames that are clipped somewhere from which another primary than the beam's own may tell more.</summary>
    private const double LeastClipped = 0.25;

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
        (ExcessRidge found, LightChannel primary) = RidgeOf(ExcessMap.Of(sample, wide)) ?? throw new UnusableInputException(
            Path.GetFileName(facts.Path),
            "nothing that looks and changes like a laser streak was found along the marks",
            "Check the marks, and film so that the streak lies on the ruler or just beside it.");
        RulerTracking? tracking = Track(found.AcrossSigmaPx, out IReadOnlyList<RulerMotion>? motions);
        if (motions is not null)
        {
            // Seen where the ruler lies in each frame, the streak is as wide as it is, and where it is in the first frame.
            (found, primary) = RidgeOf(ExcessMap.Of(sample, wide, motions)) ?? (found, primary);
            tracking = Track(found.AcrossSigmaPx, out motions);
        }

        // Where the streak is clipped, all of its width is white and looks wider than it is; what is not clipped then tells better.
        Lighting seen = Around(wide, sample, channel, found, primary, found.AcrossSigmaPx, motions);
        double measured = seen.Across.SigmaPx;
        if (!(measured > MuchNarrower * found.AcrossSigmaPx))
        {
            if (motions is not null)
                tracking = Track(measured, out motions);
            seen = Around(wide, sample, channel, found, primary, measured, motions);
        }

        // The ruler is looked at last of all, so decoding need not wait for its picture.
        return new StreakSurvey(
            seen.Band, found.OffsetPx, seen.Channel, seen.Across, seen.Ambient, seen.ClipLevel, tracking,
            Task.Run(() => RulerOf(facts, sample.Frames, tracking)));

        RulerTracking? Track(double acrossSigmaPx, out IReadOnlyList<RulerMotion>? motions) => RulerTracking.Begin(
            facts, scale, BandOf(wide, found, acrossSigmaPx), StripProfiler.QuietReach * acrossSigmaPx, sample.Frames, out motions);
    }

    // The line that is strongest, and its primary; null where none is strong enough.
    private static (ExcessRidge Ridge, LightChannel Primary)? RidgeOf(ExcessMap map)
    {
        ExcessRidge? found = null;
        LightChannel primary = LightChannel.Red;
        foreach (bool changing in new[] { true, false })
        {
            // What changes is the streak; only a streak that never changes is looked for in the still picture.
            var ridges = new ExcessRidge?[Primaries.Length];
            Parallel.For(0, ridges.Length, c => ridges[c] = ExcessRidge.Find(map, changing ? map.Change[c] : map.Least[c]));
            for (int c = 0; c < Primaries.Length; c++)
            {
                ExcessRidge? ridge = ridges[c];
                if (ridge is not null && ridge.Contrast > LeastContrast && (found is null || ridge.Strength > found.Strength))
                    (found, primary) = (ridge, Primaries[c]);
            }

            if (found is not null)
                return (found, primary);
        }

        return null;
    }

    private static StripGeometry BandOf(StripGeometry wide, ExcessRidge found, double acrossSigmaPx) =>
        wide.Along(found.OffsetPx, found.Slope, Math.Max(5, (int)Math.Ceiling(BandReach * acrossSigmaPx)));

    // The band with what its light tells.
    private sealed record Lighting(
        StripGeometry Band, LightChannel Channel, AcrossShape Across, float[] Ambient, float ClipLevel);

    // Looks at the survey frames once it is known where the streak lies and how wide it is.
    private static Lighting Around(
        StripGeometry wide, FrameSample sample, LightChannel? channel, ExcessRidge found, LightChannel primary, double acrossSigmaPx,
        IReadOnlyList<RulerMotion>? motions)
    {
        IReadOnlyList<RawFrame> frames = sample.Frames;
        StripGeometry band = BandOf(wide, found, acrossSigmaPx);
        float clipLevel = new LinearLight(sample.Colour, primary).ClippedFrom;
        StripPlacement[] placements =
            [.. Enumerable.Range(0, frames.Count).Select(k => motions is null ? band.Placement() : band.Placement(motions[k]))];
        PixelRegion all = frames[0].Region, part = motions is null ? RegionAlignment.Within(all, band.Region()) : all;
        var strips = new List<float[]>[Primaries.Length];
        Parallel.For(0, strips.Length, c => strips[c] = Strips(sample, part, band, placements, Primaries[c]));
        int own = Array.IndexOf(Primaries, primary);
        (List<float[]>, List<float[]>) others = (strips[(own + 1) % 3], strips[(own + 2) % 3]);
        bool[][] covered = CoveredColumns.Of(band, strips[own], others, acrossSigmaPx);
        bool[] always = AlwaysLit.Of(band, strips[own], others, covered, acrossSigmaPx);
        Parallel.For(0, strips.Length, c => Blank(strips[c], covered));

        // Where the beam's own primary is hardly ever clipped it is the one that tells most, whatever else moves in the picture.
        bool isClipped = strips[own].Count(strip => strip.Any(v => v >= clipLevel)) > LeastClipped * frames.Count;

        // One frame shows no other streak to hold the channels against; its own is then the safe one.
        (LightChannel chosen, ChannelView best) = (channel ?? (frames.Count == 1 || !isClipped ? primary : null)) is { } wanted
            ? (wanted, ViewOf(wanted))
            : Best();
        return new Lighting(band, chosen, best.Across, best.Ambient, clipLevel);

        // Even a deep red beam leaves some light in the green of a camera; where its own primary is clipped that may tell more. Where they
        // tell the same, the first stays: the beam's own.
        (LightChannel Channel, ChannelView View) Best()
        {
            var views = new ChannelView[Primaries.Length];
            Parallel.For(0, views.Length, c => views[c] = ViewOf(Primaries[c]));
            CoarseStreak?[] ends = StreakInformation.EndsOf(band, views[own].Strips, views[own].Ambient, acrossSigmaPx);
            double[] told = new double[views.Length];
            Parallel.For(0, views.Length, c =>
                told[c] = StreakInformation.Of(
                    band, views[c].Strips, views[c].Ambient, views[c].Across, clipLevel, ends, c == own ? null : (views[own].Strips, views[own].Ambient, InLuma(own))));
            int best = Enumerable.Range(0, views.Length).OrderBy(c => c == own ? 0 : 1).MaxBy(c => told[c]);
            return (Primaries[best], views[best]);
        }

        double InLuma(int primary)
        {
            (double kr, double kb) = ColourWeights.Luma(sample.Colour.Matrix);
            return Primaries[primary] switch { LightChannel.Red => kr, LightChannel.Blue => kb, _ => 1 - kr - kb };
        }

        ChannelView ViewOf(LightChannel of)
        {
            List<float[]> seen;
            if (of == LightChannel.Luma)
                Blank(seen = Strips(sample, part, band, placements, of), covered);
            else
                seen = strips[Array.IndexOf(Primaries, of)];
            ToOneExposure(band, seen, acrossSigmaPx);
            float[] ambient = AmbientOf(band, seen, always, acrossSigmaPx);
            return new ChannelView(seen, ambient, AcrossShape.Of(band, seen, ambient, acrossSigmaPx, clipLevel));
        }
    }

    // The strips as one channel shows them.
    private sealed record ChannelView(List<float[]> Strips, float[] Ambient, AcrossShape Across);

    private static RulerPicture RulerOf(ClipFacts facts, IReadOnlyList<RawFrame> frames, RulerTracking? tracking) =>
        tracking is null
            ? RulerPicture.UsualOf(frames, facts.Orientation)
            : RulerPicture.FromFrame(frames[0], facts.Orientation);

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

    // What covers the scene is not the scene.
    private static void Blank(List<float[]> strips, bool[][] covered)
    {
        for (int k = 0; k < strips.Count; k++)
        {
            for (int at = 0; at < strips[k].Length; at++)
                strips[k][at] = covered[k][at % covered[k].Length] ? float.NaN : strips[k][at];
        }
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
            float least = float.PositiveInfinity;
            foreach (float[] strip in strips)
                least = strip[at] < least ? strip[at] : least;
            ambient[at] = float.IsFinite(least) ? least : float.NaN;
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
