using System.Globalization;

namespace StreakTrack.Benchmarks;

/// <summary>The clips that are measured on.</summary>
/// <param name="Basic">Ten seconds, as phones film them.</param>
/// <param name="Lengths">1080p30 of growing length.</param>
/// <param name="Sizes">60 frames a second of growing size.</param>
/// <param name="Others">Those in no list.</param>
internal sealed record BenchmarkClips(
    IReadOnlyList<BenchmarkClip> Basic, IReadOnlyList<BenchmarkClip> Lengths, IReadOnlyList<BenchmarkClip> Sizes, IReadOnlyList<BenchmarkClip> Others)
{
    private static readonly double[] LongSeconds = [30, 60, 120, 600];

    /// <summary>Each clip once.</summary>
    public IEnumerable<BenchmarkClip> All => Basic.Concat(Sizes).Concat(Lengths).Concat(Others).Distinct();

    /// <summary>Makes the clips that are not there yet.</summary>
    /// <param name="folder">Where to.</param>
    /// <param name="longestSeconds">Length of the longest, in s.</param>
    public static BenchmarkClips Make(string folder, double longestSeconds)
    {
        string In(string name) => Path.Combine(folder, name);
        string Seconds(double s) => string.Create(CultureInfo.InvariantCulture, $"{s}s");
        BenchmarkClip full = BenchmarkClip.Make("1080p30 H.264", In("1080p30"), 1080, 30, 17);
        BenchmarkClip large = BenchmarkClip.Make("4K60 H.264", In("4k60"), 2160, 60, 60);
        return new BenchmarkClips(
            [
                BenchmarkClip.Make("720p30 H.264", In("720p30"), 720, 30, 9), full,
                BenchmarkClip.Make("1080p60 HEVC 10 bit", In("hevc"), 1080, 60, 15, hevc: true), large,
            ],
            [full, .. LongSeconds.Where(s => s <= longestSeconds).Select(s => full.Lengthened(In(Seconds(s)), s))],
            [
                BenchmarkClip.Make("540p60 H.264", In("540p60"), 540, 60, 60 / 16.0),
                BenchmarkClip.Make("1080p60 H.264", In("1080p60"), 1080, 60, 60 / 4.0), large,
            ],
            longestSeconds >= 30 ? [large.Lengthened(In("4k60-30s"), 30)] : []);
    }
}
