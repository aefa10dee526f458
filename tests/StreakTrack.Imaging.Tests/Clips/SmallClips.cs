using System.Globalization;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Clips;

/// <summary>The fixtures and what ffprobe 5.1.9 said of them (fixtures/clips-small/README.md).</summary>
internal static class SmallClips
{
    public static readonly string[] Large =
    [
        "detuned_720p30", "green_steel_nosteady", "handheld_1080p30", "overexposed_1080p30", "portrait_hevc_vfr", "ringdown_dark_720p30",
        "ringdown_lit_1080p30", "ringdown_partial_1080p60", "sweep_540p30", "switchon_720p30",
    ];

    public static readonly string[] Small =
    [
        "plain.mp4", "offset.mp4", "trimmed.mp4", "uneven.mp4", "uneven.mkv", "motion_jpeg.avi", "mpeg4.avi", "fragmented.mp4", "full_range.mov",
        "vp9.webm", "hevc10.mp4", "untagged.mp4", "cropped422.mp4", "mirrored.mp4", "turned90.mp4", "turned270.mp4", "transposed.mp4",
        "two_pieces.mp4", "half_speed.mp4", "slow_motion.mp4",
    ];

    public static string PathOf(string name) => Array.IndexOf(Large, name) < 0
        ? Fixtures.PathOf("clips-small", name)
        : Fixtures.PathOf("clips", name, name == "portrait_hevc_vfr" ? "clip.mov" : "clip.mp4");

    /// <summary>Presentation times, in s.</summary>
    public static double[] Times(string name) =>
    [
        .. File.ReadLines(Fixtures.PathOf("clips-small", "ffprobe", name + ".txt")).Select(line => double.Parse(line, CultureInfo.InvariantCulture)),
    ];

    /// <summary>The stream's properties.</summary>
    public static Dictionary<string, string> Stream(string name) =>
        File.ReadLines(Fixtures.PathOf("clips-small", "ffprobe", name + ".stream.txt")).Select(line => line.Split('=', 2)).ToDictionary(p => p[0], p => p[1]);
}
