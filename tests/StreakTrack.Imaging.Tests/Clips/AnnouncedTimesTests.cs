using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public sealed class AnnouncedTimesTests
{
    // Half a tick of the coarsest clock among them (1/600 s) would show a wrong rule; ffprobe prints microseconds.
    private const double ToleranceSeconds = 2e-6;

    public static TheoryData<string> WithIndex =>
    [
        .. SmallClips.Large, "plain.mp4", "offset.mp4", "trimmed.mp4", "uneven.mp4", "full_range.mov", "hevc10.mp4", "untagged.mp4", "mirrored.mp4",
        "turned90.mp4", "slow_motion.mp4",
    ];

    // Expected: presentation times as ffprobe lists them (fixtures/clips-small/README.md).
    [Theory]
    [MemberData(nameof(WithIndex))]
    public void Times_from_the_index_are_those_of_the_frames(string name)
    {
        double[] expected = SmallClips.Times(name), found = ClipFile.AnnouncedTimes(ClipFile.Inspect(SmallClips.PathOf(name)));
        Assert.Equal(expected.Length, found.Length);
        Assert.All(expected.Zip(found), pair => Assert.Equal(pair.First, pair.Second, ToleranceSeconds));
    }

    [Theory]
    [InlineData("two_pieces.mp4")]
    [InlineData("half_speed.mp4")]
    [InlineData("fragmented.mp4")]
    [InlineData("vp9.webm")]
    [InlineData("mpeg4.avi")]
    public void Clips_without_a_plain_index_announce_none(string name) =>
        Assert.Empty(ClipFile.AnnouncedTimes(ClipFile.Inspect(SmallClips.PathOf(name))));

    [Fact]
    public void An_incomplete_copy_announces_none()
    {
        // plain.mp4 with its index (the last 1309 bytes) put before its pictures (the 5416 bytes before), as files made for the web have it.
        ReadOnlySpan<byte> plain = File.ReadAllBytes(SmallClips.PathOf("plain.mp4"));
        byte[] whole = [.. plain[..^6725], .. plain[^1309..], .. plain[^6725..^1309]];

        Assert.Equal(SmallClips.Times("plain.mp4").Length, TimesOf(whole).Length);
        Assert.Empty(TimesOf(whole[..^100]));
    }

    private static double[] TimesOf(byte[] clip)
    {
        string path = Path.GetTempFileName();
        try
        {
            File.WriteAllBytes(path, clip);
            return ClipFile.AnnouncedTimes(ClipFile.Inspect(path));
        }
        finally
        {
            File.Delete(path);
        }
    }
}
