using StreakTrack.Tests.Shared;

namespace StreakTrack.Cli.Tests;

public sealed class InfoTests
{
    [Theory]
    [InlineData("ringdown_dark_720p30")]
    [InlineData("portrait_hevc_vfr")]
    public async Task The_index_tells_what_decoding_finds(string name)
    {
        string clip = Directory.GetFiles(Fixtures.PathOf("clips", name), "clip.*").Single();

        string[] told = Lines(await CommandRun.OfAsync("info", clip)), decoded = Lines(await CommandRun.OfAsync("info", clip, "--decode"));

        Assert.Contains(told, line => line.StartsWith("frames", StringComparison.Ordinal) && line.Contains("by the file's index", StringComparison.Ordinal));
        Assert.Contains(decoded, line => line.StartsWith("frames", StringComparison.Ordinal) && line.EndsWith(" decoded, 0 lost", StringComparison.Ordinal));
        Assert.Equal(CountOf(decoded), CountOf(told));
        Assert.Equal(decoded.Where(IsNeither), told.Where(IsNeither));
    }

    [Theory]
    [InlineData("vp9.webm")]
    [InlineData("fragmented.mp4")]
    [InlineData("two_pieces.mp4")]
    public async Task A_clip_without_a_plain_index_is_decoded(string name)
    {
        string[] told = Lines(await CommandRun.OfAsync("info", Fixtures.PathOf("clips-small", name)));

        Assert.Contains(told, line => line.StartsWith("reader", StringComparison.Ordinal));
        Assert.Contains(told, line => line.Contains(" decoded, ", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_named_reader_decodes()
    {
        string[] told = Lines(await CommandRun.OfAsync("info", Fixtures.PathOf("clips-small", "plain.mp4"), "--reader", "embedded"));

        Assert.Contains(told, line => line.Contains(" decoded, 0 lost", StringComparison.Ordinal));
    }

    private static string[] Lines(CommandRun run)
    {
        Assert.Equal(0, run.ExitCode);
        return run.Output.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
    }

    private static string CountOf(string[] lines) => lines.Single(line => line.StartsWith("frames", StringComparison.Ordinal)).Split(' ', StringSplitOptions.RemoveEmptyEntries)[1];

    private static bool IsNeither(string line) =>
        !line.StartsWith("frames", StringComparison.Ordinal) && !line.StartsWith("reader", StringComparison.Ordinal);
}
