using System.Text.Json;

namespace StreakTrack.Cli.Tests;

/// <summary>Practice clips from the command line; what is drawn and encoded is held in the tests of the simulation.</summary>
public sealed class SynthTests : IDisposable
{
    private static readonly string[] Small = ["--width", "640", "--duration", "0.4"];

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task The_truth_lies_apart_and_its_seal_shows_a_change()
    {
        CommandRun made = await CommandRun.OfAsync(["synth", "--out", _folder.PathOf("clip"), "--truth", _folder.PathOf("kept"), .. Small]);
        string seal = made.Output.Split('\n').Single(l => l.StartsWith("sha256", StringComparison.Ordinal)).Split(' ', StringSplitOptions.RemoveEmptyEntries)[1];
        string truth = _folder.PathOf("kept/truth.json");

        Assert.DoesNotContain("truth.json", Directory.GetFiles(_folder.PathOf("clip")).Select(Path.GetFileName));
        Assert.Equal(0, (await CommandRun.OfAsync("synth", "--check", truth, "--sha256", seal)).ExitCode);
        File.WriteAllText(truth, File.ReadAllText(truth).Replace("\"tau_s\": ", "\"tau_s\":  ", StringComparison.Ordinal));
        CommandRun changed = await CommandRun.OfAsync("synth", "--check", truth, "--sha256", seal);
        Assert.Equal(1, changed.ExitCode);
        Assert.StartsWith("CHANGED", changed.Output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("ffmpeg", "clip.mp4", "H.264")]
    [InlineData("embedded", "clip.mov", "JPEG")]
    public async Task It_says_which_encoder_was_used(string encoder, string file, string coding)
    {
        CommandRun made = await CommandRun.OfAsync(["synth", "--out", _folder.PathOf("clip"), "--encoder", encoder, "--rotation", "90", .. Small]);

        Assert.True(made.ExitCode == 0, made.Error);
        Assert.Contains(coding, made.Output.Split('\n').Single(l => l.StartsWith("encoder", StringComparison.Ordinal)), StringComparison.OrdinalIgnoreCase);
        Assert.True(File.Exists(_folder.PathOf("clip/" + file)));
    }

    [Fact]
    public async Task What_is_asked_for_is_what_the_truth_says()
    {
        CommandRun made = await CommandRun.OfAsync(
        [
            "synth", "--out", _folder.PathOf("clip"), "--preset", "hard", "--seed", "5", "--tau", "1.5", "--frequency", "36", "--detuning", "0.7", "--frame-rate", "50",
            "--exposure-share", "0.5", "--light", "0.3", "--yaw", "8", "--shake", "1.5", "--jitter", "0.002", .. Small,
        ]);
        Assert.True(made.ExitCode == 0, made.Error);
        using JsonDocument truth = JsonDocument.Parse(File.ReadAllText(_folder.PathOf("clip.truth/truth.json")));
        JsonElement scenario = truth.RootElement.GetProperty("scenario"), camera = scenario.GetProperty("camera");

        Assert.Equal(1.5, truth.RootElement.GetProperty("oscillator").GetProperty("tau_s").GetDouble());
        Assert.Equal(36, truth.RootElement.GetProperty("oscillator").GetProperty("frequency_hz").GetDouble());
        Assert.Equal(0.7, scenario.GetProperty("motion").GetProperty("detuning_hz").GetDouble());
        Assert.Equal(50, camera.GetProperty("frames_per_second").GetDouble());
        Assert.Equal(0.01, camera.GetProperty("exposure_seconds").GetDouble(), 1e-12);
        Assert.Equal(8, camera.GetProperty("yaw_degrees").GetDouble());
        Assert.Equal(1.5, camera.GetProperty("shake_rms_px").GetDouble());
        Assert.Equal(0.3, scenario.GetProperty("scene").GetProperty("ambient_level").GetDouble());
        double[] times = [.. truth.RootElement.GetProperty("frames").EnumerateArray().Select(f => f.GetProperty("time_s").GetDouble())];
        Assert.True(times.Zip(times.Skip(1), (a, b) => b - a).Max() > 0.0205, "the frame rate varies");
        Assert.NotEqual(JsonValueKind.Null, truth.RootElement.GetProperty("salt").ValueKind);
    }

    [Theory]
    [InlineData("synth")]
    [InlineData("synth", "--check", "nothing.json")]
    [InlineData("synth", "--check", "nothing.json", "--sha256", "12")]
    [InlineData("synth", "--out", "x", "--sha256", "12")]
    [InlineData("synth", "--out", "x", "--rotation", "45")]
    public async Task A_command_line_that_makes_no_clip_says_so(params string[] args) =>
        Assert.Equal(2, (await CommandRun.OfAsync([.. args.Select(a => a == "x" ? _folder.PathOf("x") : a)])).ExitCode);
}
