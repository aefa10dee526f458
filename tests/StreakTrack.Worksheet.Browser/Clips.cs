using StreakTrack.Core.Scale;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Worksheet.Browser;

/// <summary>Clips and marks of the fixtures.</summary>
internal static class Clips
{
    public static string Lit => Fixtures.PathOf("clips", "ringdown_lit_1080p30", "clip.mp4");

    public static string Dark => Fixtures.PathOf("clips", "ringdown_dark_720p30", "clip.mp4");

    public static string Sweep => Fixtures.PathOf("clips", "sweep_540p30", "clip.mp4");

    /// <summary>What a person clicked on a clip's ruler.</summary>
    public static IReadOnlyList<RulerMark> MarksOf(string clip) => MarksCsv.Read(Path.Combine(Path.GetDirectoryName(clip)!, "marks.csv"));

    /// <summary>Four of them, spread over the ruler.</summary>
    public static RulerMark[] FourMarksOf(string clip)
    {
        IReadOnlyList<RulerMark> all = MarksOf(clip);
        return [.. new[] { 0, 1, 2, 3 }.Select(i => all[i * (all.Count - 1) / 3])];
    }
}
