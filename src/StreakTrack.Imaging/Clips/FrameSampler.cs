using System.Globalization;
using StreakTrack.Core;

namespace StreakTrack.Imaging.Clips;

/// <summary>Takes a few frames from all over a clip without decoding all of it where that can be helped.</summary>
internal static class FrameSampler
{
    // What a seek of the embedded decoder costs, in decoded frames: half the usual distance of key frames, and starting anew.
    private const int FramesASeek = 40;

    // From this length of a slot on the ffmpeg program is started anew for each frame: starting costs about as much as decoding the key
    // frames of five seconds, of which phones make one a second (common practice, no source).
    private const double SecondsAStart = 5;

    // Each takes the memory of some pictures; and a thread that waits for its decoder lets the pool begin further ones without a limit.
    private const int MostDecoders = 4;

    /// <summary>Samples with the ffmpeg program.</summary>
    /// <remarks>
    /// In a long clip one key frame is decoded in each part of it, whatever its length. In a short one all key frames are, which cost a
    /// small part of a full decode; half of the frames wanted is enough. Else all frames that others depend on are decoded, which is the
    /// least from which frames between key frames can be had.
    /// </remarks>
    public static FrameSample WithFfmpeg(ClipFacts facts, int count, PixelRegion? region, CancellationToken cancellationToken)
    {
        if (facts.DurationSeconds > count * SecondsAStart && Seeking(facts, count, region, cancellationToken) is FrameSample sought)
            return sought;
        FrameSample keyFrames = Sample("nokey");
        return 2 * keyFrames.Frames.Count >= count ? keyFrames : Sample("noref");

        FrameSample Sample(string skipped)
        {
            var options = new FrameReaderOptions { Reader = ReaderChoice.Ffmpeg, Region = region };
            using var reader = new FfmpegFrameReader(facts, options, ["-skip_frame", skipped], OneFrameASlot(facts, count), cancellationToken);
            var sample = new Spread(count);
            while (reader.TryRead(sample.Next))
                sample.Take();

            return new FrameSample(sample.Finish(), reader.Colour);
        }
    }

    // The key frame at or before the beginning of each slot; null where half of the slots have none of their own.
    private static FrameSample? Seeking(ClipFacts facts, int count, PixelRegion? region, CancellationToken cancellationToken)
    {
        var frames = new RawFrame?[count];
        ColourDescription colour = facts.Colour;
        var limited = new ParallelOptions
        {
            CancellationToken = cancellationToken, MaxDegreeOfParallelism = Math.Min(MostDecoders, Environment.ProcessorCount),
        };
        Parallel.For(0, count, limited, slot =>
        {
            double start = facts.StartSeconds + (slot * facts.DurationSeconds!.Value / count);
            var options = new FrameReaderOptions { Reader = ReaderChoice.Ffmpeg, Region = region };
            try
            {
                using var reader = new FfmpegFrameReader(
                    facts, options, ["-threads", "1", "-skip_frame", "nokey", .. FfmpegProgram.SeekTo(start)], null, cancellationToken);
                var frame = new RawFrame();
                if (reader.TryRead(frame))
                    frames[slot] = frame;
                if (slot == 0)
                    colour = reader.Colour;
            }
            catch (UnusableInputException)
            {
                // A container without an index cannot be sought in, a damaged place not be decoded: other slots may do.
            }
        });

        var sample = new List<RawFrame>(count);
        foreach (RawFrame? frame in frames)
        {
            if (frame is null || (sample.Count > 0 && frame.TimeSeconds <= sample[^1].TimeSeconds))
                continue;
            frame.Index = sample.Count;
            sample.Add(frame);
        }

        return 2 * sample.Count >= count && frames[0] is not null ? new FrameSample(sample, colour) : null;
    }

    /// <summary>Samples with the embedded decoder: by seeking where that is less work than decoding everything.</summary>
    public static FrameSample WithEmbedded(ClipFacts facts, int count, PixelRegion? region, CancellationToken cancellationToken)
    {
        using var reader = new EmbeddedFrameReader(facts, new FrameReaderOptions { Reader = ReaderChoice.Embedded, Region = region });
        var sample = new Spread(count);
        double slotSeconds = facts.DurationSeconds is > 0 and double duration ? duration / count : 0;
        bool seeks = slotSeconds > 0 && facts.AnnouncedFrames > (long)count * FramesASeek;
        double last = double.NegativeInfinity;
        for (int slot = 0; !seeks || slot < count; slot++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            if (seeks)
                reader.Seek(facts.StartSeconds + (slot * slotSeconds));

            // The decoder may land elsewhere; the time tells where, and what was seen already is left out.
            if (reader.TryGrab() is not { } time)
                break;
            bool wanted = seeks ? time > last : Math.Floor((time - facts.StartSeconds) / slotSeconds) > Math.Floor((last - facts.StartSeconds) / slotSeconds);
            if (slotSeconds == 0 || wanted)
            {
                reader.Retrieve(sample.Next, time);
                sample.Take();
                last = time;
            }
        }

        return new FrameSample(sample.Finish(), reader.Colour);
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

    /// <summary>Keeps up to a number of frames, evenly spread over those offered, and never more than twice as many.</summary>
    private sealed class Spread(int count)
    {
        private readonly List<RawFrame> _kept = [];
        private int _stride = 1;
        private int _offered;

        /// <summary>The frame to be filled next.</summary>
        public RawFrame Next { get; private set; } = new();

        /// <summary>Offers the frame filled.</summary>
        public void Take()
        {
            if (_offered++ % _stride != 0)
                return;
            _kept.Add(Next);
            Next = new RawFrame();
            if (_kept.Count < 2 * count)
                return;
            for (int k = 0; k < count; k++)
                _kept[k] = _kept[2 * k];
            _kept.RemoveRange(count, count);
            _stride *= 2;
        }

        /// <summary>The frames, numbered anew.</summary>
        public List<RawFrame> Finish()
        {
            var sample = new List<RawFrame>(count);
            int size = Math.Min(count, _kept.Count);
            for (int k = 0; k < size; k++)
            {
                RawFrame frame = _kept[size == 1 ? _kept.Count / 2 : (int)((long)k * (_kept.Count - 1) / (size - 1))];
                frame.Index = k;
                sample.Add(frame);
            }

            return sample;
        }
    }
}
