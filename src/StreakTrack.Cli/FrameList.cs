using System.Globalization;

namespace StreakTrack.Cli;

/// <summary>Frame numbers as typed: <c>3,7,20-25</c>.</summary>
internal static class FrameList
{
    /// <summary>No clip has more frames than this; a range beyond it is a slip of the keyboard.</summary>
    private const int MaxFrames = 10_000_000;

    /// <summary>Reads the list.</summary>
    /// <exception cref="UsageException">The text is no list of frames.</exception>
    public static IReadOnlyList<int> Parse(string text)
    {
        var frames = new SortedSet<int>();
        foreach (string part in text.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            string[] ends = part.Split('-', 2);
            if (!TryFrame(ends[0], out int first) || !TryFrame(ends[^1], out int last) || last < first)
                throw new UsageException($"'{part}' is no frame number or range; write for example --exclude 3,7,20-25.");
            for (int frame = first; frame <= last; frame++)
                frames.Add(frame);
        }

        return [.. frames];
    }

    private static bool TryFrame(string text, out int frame) =>
        int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out frame) && frame < MaxFrames;
}
