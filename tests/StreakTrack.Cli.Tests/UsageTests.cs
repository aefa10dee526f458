namespace StreakTrack.Cli.Tests;

public class UsageTests
{
    [Theory]
    [InlineData]
    [InlineData("analyze")]
    [InlineData("analyze", "clip.mp4")]
    [InlineData("analyze", "clip.mp4", "--marks", "m.csv", "--out", "o", "--model", "square")]
    [InlineData("analyze", "clip.mp4", "--marks", "m.csv", "--out", "o", "--frequency", "-3")]
    [InlineData("analyze", "clip.mp4", "--marks", "m.csv", "--out", "o", "--frequency", "38,9")]
    [InlineData("analyze", "clip.mp4", "--marks", "m.csv", "--out", "o", "--from", "5", "--to", "2")]
    [InlineData("analyze", "clip.mp4", "--marks", "m.csv", "--out", "o", "--exclude", "9-3")]
    [InlineData("analyze", "clip.mp4", "--out", "o")]
    [InlineData("info", "clip.mp4", "--reader", "magic")]
    [InlineData("polish")]
    public async Task A_wrong_command_line_exits_with_2_and_points_to_the_help(params string[] args)
    {
        CommandRun run = await CommandRun.OfAsync(args);

        Assert.Equal(2, run.ExitCode);
        Assert.Empty(run.Output);
        Assert.StartsWith("streaktrack: ", run.Error, StringComparison.Ordinal);
        Assert.Contains("--help", run.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("analyze")]
    [InlineData("info")]
    [InlineData("demo")]
    [InlineData("fit")]
    [InlineData("verify")]
    [InlineData("grade")]
    [InlineData("synth")]
    [InlineData("resonance")]
    [InlineData("stiffness")]
    [InlineData("damping")]
    public async Task Help_of_a_command_goes_to_standard_output_and_ends_with_examples(string command)
    {
        CommandRun run = await CommandRun.OfAsync(command, "--help");

        Assert.Equal(0, run.ExitCode);
        Assert.Empty(run.Error);
        string examples = run.Output[run.Output.IndexOf("Examples:", StringComparison.Ordinal)..];
        Assert.Contains($"streaktrack {command}", examples, StringComparison.Ordinal);
    }

    [Fact]
    public void A_frame_list_takes_numbers_and_ranges()
    {
        Assert.Equal([3, 7, 20, 21, 22], FrameList.Parse("7, 3,20-22"));
    }
}
