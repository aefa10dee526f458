using System.Globalization;

namespace StreakTrack.Imaging.Clips;

/// <summary>Takes a few frames from all over a clip without decoding all of it where that can be helped.</summary>
internal static class FrameSampler
{
    /// <summary>Samples with the ffmpeg program.</summary>
    /// <remarks>
    /// Key frames alone cost a small part of a full decode, so they are tried first; half of the frames wanted is enough. Else all frames
    /// that others depend on are decoded, which is the least from which frames between key frames can be had.
    /// </remarks>
    public static IReadOnlyList<RawFrame> WithFfmpeg(ClipFacts facts, int count, PixelRegion? region, CancellationToken cancellationToken)
    {
        IReadOnlyList<RawFrame> keyFrames = Sample("nokey");
        return 2 * keyFrames.Count >= count ? keyFrames : Sample("noref");

        IReadOnlyList<RawFrame> Sample(string skipped)
        {
            var options = new FrameReaderOptions { Reader = ReaderChoice.Ffmpeg, Region = region };
            using var reader = new FfmpegFrameReader(facts, options, ["-skip_frame", skipped], OneFrameASlot(facts, count));
            return Collect(reader, count, cancellationToken);
        }
    }

    /// <summary>Reads a reader to its end, or until cancelled, and keeps <paramref name="count"/> frames, evenly spread over those read.</summary>
    /// <remarks>Never holds more than twice as many frames.</remarks>
    private static List<RawFrame> Collect(FfmpegFrameReader reader, int count, CancellationToken cancellationToken)
    {
        var kept = new List<RawFrame>();
        int stride = 1;
        var frame = new RawFrame();
        for (int i = 0; reader.TryRead(frame); i++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            if (i % stride != 0)
                continue;
            kept.Add(frame);
            frame = new RawFrame();
            if (kept.Count < 2 * count)
                continue;
            for (int k = 0; k < count; k++)
                kept[k] = kept[2 * k];
            kept.RemoveRange(count, count);
            stride *= 2;
        }

        List<RawFrame> sample = Thin(kept, count);
        for (int k = 0; k < sample.Count; k++)
            sample[k].Index = k;
        return sample;
    }

    /// <summary>Evenly spread members of a list, the first and the last among them.</summary>
    private static List<RawFrame> Thin(List<RawFrame> frames, int count)
    {
        if (frames.Count <= count)
            return frames;
        var thinned = new List<RawFrame>(count);
        for (int k = 0; k < count; k++)
            thinned.Add(frames[count == 1 ? frames.Count / 2 : (int)((long)k * (frames.Count - 1) / (count - 1))]);
        return thinned;
    }

    // A filter that lets the first frame of each of count equal parts of the clip pass, so that the others need not go through the pipe.
    private static string? OneFrameASlot(ClipFacts facts, int count)
    {
        if (facts.DurationSeconds is not > 0)
            return null;
        double slot = facts.DurationSeconds.Value / count;
        return string.Create(CultureInfo.InvariantCulture,
            $"select='isnan(prev_t)+gt(floor((t-{facts.StartSeconds:F6})/{slot:F9}),floor((prev_t-{facts.StartSeconds:F6})/{slot:F9}))'");
    }
}
