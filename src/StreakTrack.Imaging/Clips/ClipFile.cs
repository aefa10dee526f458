using StreakTrack.Core;

namespace StreakTrack.Imaging.Clips;

/// <summary>Opens clips.</summary>
public static class ClipFile
{
    /// <summary>Looks at a clip without decoding it.</summary>
    /// <remarks>Only MP4, QuickTime, Matroska, WebM and AVI files are opened, told by their first bytes; never a playlist, a pipe or an address.</remarks>
    /// <param name="path">Path of the file.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <exception cref="UnusableInputException">The file is none of these, is damaged, or has no video.</exception>
    public static ClipFacts Inspect(string path, CancellationToken cancellationToken = default) => ClipInspection.Inspect(path, cancellationToken);

    /// <summary>Times of a clip's frames as the container's index gives them; nothing is decoded.</summary>
    /// <param name="facts">The clip, as <see cref="Inspect"/> found it.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <returns>Times in s, in order; empty where the container has no such index. A decoder delivers these frames of a sound clip, and fewer of a
    /// damaged one.</returns>
    /// <exception cref="UnusableInputException">The file is no longer what it was.</exception>
    public static double[] AnnouncedTimes(ClipFacts facts, CancellationToken cancellationToken = default) =>
        ClipInspection.AnnouncedTimes(facts.Path, cancellationToken);

    /// <summary>Opens a reader.</summary>
    /// <param name="facts">The clip, as <see cref="Inspect"/> found it.</param>
    /// <param name="options">What to deliver, and with which reader.</param>
    /// <exception cref="MissingComponentException">The reader is not there.</exception>
    /// <exception cref="UnusableInputException">The clip cannot be decoded.</exception>
    public static IFrameReader OpenReader(ClipFacts facts, FrameReaderOptions options)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(options.ReadAhead);
        IFrameReader reader = UsesFfmpeg(options.Reader) ? new FfmpegFrameReader(facts, options) : new EmbeddedFrameReader(facts, options);
        return options.ReadAhead == 0 ? reader : new PrefetchingFrameReader(reader, options.ReadAhead);
    }

    /// <summary>Opens a reader somewhere in the clip, as near to a time as the decoder can begin.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="options">What to deliver, and with which reader.</param>
    /// <param name="fromSeconds">Time of the first frame wanted, in s. Frames before it are decoded where need be, but not delivered. A decoder that
    /// begins too late is not noticed here: <see cref="RawFrame.TimeSeconds"/> of the first frame tells. <see cref="RawFrame.Index"/> counts from
    /// wherever the reader begins.</param>
    /// <param name="cancellationToken">Ends the decoding, also in the middle of a frame where the reader allows.</param>
    /// <exception cref="MissingComponentException">The reader is not there.</exception>
    /// <exception cref="UnusableInputException">The clip cannot be decoded.</exception>
    public static IFrameReader OpenReaderAt(
        ClipFacts facts, FrameReaderOptions options, double fromSeconds, CancellationToken cancellationToken = default)
    {
        // Half a millisecond takes up the rounding of a time; no two frames are that close.
        double from = fromSeconds - 0.0005;
        if (!UsesFfmpeg(options.Reader))
            return new EmbeddedFrameReader(facts, options, from);
        return new FfmpegFrameReader(
            facts, options, FfmpegProgram.SeekTo(from), $"select='gte(t,{FfmpegProgram.Instant(from)})'", cancellationToken);
    }

    /// <summary>Takes up to <paramref name="count"/> frames from all over a clip, as cheaply as the decoder allows.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="count">Frames wanted, at least 1. Fewer come when the clip has fewer, or when its key frames alone give at least half of them.</param>
    /// <param name="region">The region of the coded picture wanted; null for all of it. May be widened as in <see cref="FrameReaderOptions"/>.</param>
    /// <param name="reader">Which reader to use.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <returns>Frames in order of time, each with buffers of its own. <see cref="RawFrame.TimeSeconds"/> is the frame's own time;
    /// <see cref="RawFrame.Index"/> counts within this list, because the place among the frames skipped is not known.</returns>
    /// <exception cref="UnusableInputException">The clip cannot be decoded.</exception>
    /// <exception cref="MissingComponentException">The reader is not there.</exception>
    public static FrameSample SampleFrames(
        ClipFacts facts, int count, PixelRegion? region, ReaderChoice reader, CancellationToken cancellationToken)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(count, 1);
        return UsesFfmpeg(reader)
            ? FrameSampler.WithFfmpeg(facts, count, region, cancellationToken)
            : FrameSampler.WithEmbedded(facts, count, region, cancellationToken);
    }

    /// <summary>Whether a clip is decoded by the ffmpeg program, in a process of its own, and not inside this one.</summary>
    /// <param name="choice">The reader asked for.</param>
    public static bool UsesFfmpeg(ReaderChoice choice) => choice switch
    {
        ReaderChoice.Embedded => false,
        ReaderChoice.Ffmpeg => true,
        _ => FfmpegProgram.Version is not null,
    };
}
