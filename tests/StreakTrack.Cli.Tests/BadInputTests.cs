using StreakTrack.Tests.Shared;

namespace StreakTrack.Cli.Tests;

public sealed class BadInputTests : IDisposable
{
    private const string GoodMarks = "u_px,v_px,reading_mm\n100,390,80\n1100,390,210\n";

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task A_missing_clip_is_named()
    {
        CommandRun run = await AnalyzeAsync(_folder.PathOf("nowhere.mp4"), GoodMarks);

        Assert.Equal(3, run.ExitCode);
        Assert.Contains("nowhere.mp4", run.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("just some words\n")]
    [InlineData("")]
    [InlineData("ffconcat version 1.0\nfile other.mp4\n")]
    [InlineData("#EXTM3U\n#EXTINF:10,\n/etc/hostname\n#EXT-X-ENDLIST\n")]
    public async Task A_text_file_named_like_a_clip_is_refused(string text)
    {
        CommandRun run = await AnalyzeAsync(_folder.WithFile("clip.mp4", text), GoodMarks);

        Assert.Equal(3, run.ExitCode);
        Assert.Contains("clip.mp4", run.Error, StringComparison.Ordinal);
        Assert.Empty(run.Output);
    }

    [Theory]
    [InlineData("u_px,v_px,reading_mm\n100,390,80\n")]
    [InlineData("u_px,v_px,reading_mm\n100,390,80\n100,390,210\n")]
    [InlineData("u_px,v_px,reading_mm\n100,390,80\n1100,nan,210\n")]
    [InlineData("u_px,v_px\n100,390\n1100,390\n")]
    [InlineData("")]
    public async Task Marks_that_make_no_scale_are_refused(string marks)
    {
        CommandRun run = await AnalyzeAsync(Fixtures.PathOf("clips", "ringdown_dark_720p30", "clip.mp4"), marks);

        Assert.Equal(3, run.ExitCode);
        Assert.Contains("mark", run.Error, StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public async Task A_missing_marks_file_is_named()
    {
        CommandRun run = await CommandRun.OfAsync("analyze", Fixtures.PathOf("clips", "ringdown_dark_720p30", "clip.mp4"),
            "--marks", _folder.PathOf("absent.csv"), "--out", _folder.PathOf("out"));

        Assert.Equal(3, run.ExitCode);
        Assert.Contains("absent.csv", run.Error, StringComparison.Ordinal);
    }

    private async Task<CommandRun> AnalyzeAsync(string clip, string marks) =>
        await CommandRun.OfAsync("analyze", clip, "--marks", _folder.WithFile("marks.csv", marks), "--out", _folder.PathOf("out"));

    [Fact]
    public async Task Cancelled_work_exits_with_130_and_leaves_no_results()
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        using var cancellation = new CancellationTokenSource(TimeSpan.FromMilliseconds(300));

        int code = await CommandLine.RunAsync(
            ["analyze", Fixtures.PathOf("clips", "sweep_540p30", "clip.mp4"), "--marks", Fixtures.PathOf("clips", "sweep_540p30", "marks.csv"),
                "--out", _folder.PathOf("out")],
            new CommandStreams(output, error), cancellation.Token);

        Assert.Equal(130, code);
        Assert.Contains("interrupted", error.ToString(), StringComparison.Ordinal);
        Assert.Empty(output.ToString());
        Assert.False(Directory.Exists(_folder.PathOf("out")));
    }
}
