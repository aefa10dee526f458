using System.Globalization;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Analysis;

/// <summary>The presentation times of a clip's frames, and how regular they are.</summary>
public sealed record FrameTimes
{
    /// <summary>Creates the summary of a list of times.</summary>
    /// <param name="timesSeconds">Time of each frame, in s, in the order of delivery.</param>
    /// <param name="lostFrames">Frames announced but not decoded.</param>
    /// <param name="readerName">The reader that delivered the times; null for those of the file's index.</param>
    public FrameTimes(IReadOnlyList<double> timesSeconds, int lostFrames, string? readerName)
    {
        TimesSeconds = timesSeconds;
        LostFrames = lostFrames;
        ReaderName = readerName;
        double[] spacings = new double[Math.Max(0, timesSeconds.Count - 1)];
        for (int i = 0; i < spacings.Length; i++)
            spacings[i] = timesSeconds[i + 1] - timesSeconds[i];
        IsStrictlyIncreasing = Array.TrueForAll(spacings, d => d > 0);
        Array.Sort(spacings);
        if (spacings.Length > 0)
        {
            // A gap stands for the frames that are missing in it; rounding of single times averages out.
            MedianSpacingSeconds = spacings[spacings.Length / 2];
            RateHz = spacings.Sum(d => Math.Round(d / MedianSpacingSeconds)) / spacings.Sum();
            MinSpacingSeconds = spacings[0];
            MaxSpacingSeconds = spacings[^1];
        }
    }

    /// <summary>Time of each frame, in s.</summary>
    public IReadOnlyList<double> TimesSeconds { get; }

    /// <summary>Frames announced but not decoded.</summary>
    public int LostFrames { get; }

    /// <summary>The reader that delivered the times; null for those of the file's index.</summary>
    public string? ReaderName { get; }

    /// <summary>Whether every frame comes after the one before it.</summary>
    public bool IsStrictlyIncreasing { get; }

    /// <summary>Smallest distance of neighbouring frames, in s; NaN for fewer than two frames.</summary>
    public double MinSpacingSeconds { get; } = double.NaN;

    /// <summary>Median distance of neighbouring frames, in s; NaN for fewer than two frames.</summary>
    public double MedianSpacingSeconds { get; } = double.NaN;

    /// <summary>Frames a second where none are missing, in Hz; NaN for fewer than two frames.</summary>
    public double RateHz { get; } = double.NaN;

    /// <summary>Largest distance of neighbouring frames, in s; NaN for fewer than two frames.</summary>
    public double MaxSpacingSeconds { get; } = double.NaN;

    /// <summary>The times by the file's own index, without decoding; null where it has no such index.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    public static FrameTimes? Announced(ClipFacts facts, CancellationToken cancellationToken) =>
        ClipFile.AnnouncedTimes(facts, cancellationToken) is { Length: > 0 } times ? new FrameTimes(times, lostFrames: 0, readerName: null) : null;

    /// <summary>Decodes the clip and keeps nothing but the times.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="choice">Which reader to use.</param>
    /// <param name="progress">Told of the frames read; may be null.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <exception cref="Core.UnusableInputException">The clip cannot be decoded.</exception>
    public static FrameTimes Read(ClipFacts facts, ReaderChoice choice, IProgress<AnalysisProgress>? progress, CancellationToken cancellationToken)
    {
        // Times are all that is wanted, so the smallest region will do.
        var options = new FrameReaderOptions { Reader = choice, Region = new PixelRegion(0, 0, 16, 16) };
        using IFrameReader reader = ClipFile.OpenReader(facts, options);
        var frame = new RawFrame();
        var times = new List<double>();
        while (reader.TryRead(frame))
        {
            cancellationToken.ThrowIfCancellationRequested();
            times.Add(frame.TimeSeconds);
            progress?.Report(new AnalysisProgress("reading frame", times.Count, facts.AnnouncedFrames));
        }

        return new FrameTimes(times, reader.LostFrames, reader.Name);
    }

    /// <summary>Writes <c>frame,time_s</c> rows.</summary>
    /// <param name="writer">Where to write.</param>
    public void WriteCsv(TextWriter writer)
    {
        writer.Write("frame,time_s\r\n");
        for (int i = 0; i < TimesSeconds.Count; i++)
            writer.Write(string.Create(CultureInfo.InvariantCulture, $"{i},{TimesSeconds[i]:0.#########}\r\n"));
    }
}
