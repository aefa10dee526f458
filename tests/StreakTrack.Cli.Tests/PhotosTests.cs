using System.Text.Json;
using StreakTrack.Core.Records;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;
using TransferFunction = StreakTrack.Imaging.Clips.TransferFunction;

namespace StreakTrack.Cli.Tests;

/// <summary>From a folder of photographs to a resonance curve, on the command line.</summary>
public sealed class PhotosTests : IDisposable
{
    private static readonly double[] FrequenciesHz = [37.4, 38.2, 38.5, 38.7, 38.8, 38.9, 39.0, 39.1, 39.3, 39.6, 40.4];

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    private SimulatedPhotos Photographed(int count = 11)
    {
        double[] frequencies = FrequenciesHz[..count];
        return SimulatedPhotos.Write(
            new ClipScenario
            {
                Name = "curve",
                Seed = 99,
                DurationSeconds = 12 * frequencies.Length,
                Motion = new SteppedSweepMotion
                {
                    FrequencyHz = 38.9, TauSeconds = 0.6, ResonanceAmplitudeMm = 38, DriveFrequenciesHz = frequencies, HoldSeconds = 12,
                },
                Lever = new LeverSettings { DistanceMm = 1140, RestReadingMm = 120 },
                Laser = new LaserSettings { Level = 0.06, DistanceFromEdgeMm = 4.3 },
                Scene = new SceneSettings { AmbientLevel = 0.05, BackgroundReflectance = 0.14 },
                Camera = new CameraSettings
                {
                    WidthPx = 960, HeightPx = 300, PxPerMm = 7, FramesPerSecond = 1, ExposureSeconds = 0.4, Transfer = TransferFunction.Srgb,
                },
            },
            _folder.PathOf("curve"));
    }

    [Fact]
    public async Task A_folder_with_its_table_gives_a_table_that_a_resonance_study_takes()
    {
        SimulatedPhotos photos = Photographed();

        CommandRun run = await CommandRun.OfAsync(
            "photos", _folder.PathOf("curve"), "--marks", photos.MarksPath, "--table", photos.TablePath, "--distance", "1140", "--out", _folder.PathOf("out"));

        Assert.True(run.ExitCode == 0, run.Error);
        Assert.Equal("", run.Error);
        foreach (string name in new[] { "photos.csv", "resonance.csv", "record.json", "datapackage.json", "report.html", "figures/photos.svg", "figures/photos.png" })
            Assert.True(File.Exists(_folder.PathOf("out/" + name)), name);
        CommandRun study = await CommandRun.OfAsync("resonance", _folder.PathOf("out/resonance.csv"), "--out", _folder.PathOf("study"), "--json");
        Assert.True(study.ExitCode == 0, study.Error);
        using JsonDocument document = JsonDocument.Parse(study.Output);
        JsonElement f0 = document.RootElement.GetProperty("quantities")[0];

        // Undamped: sqrt(38.9² + (1 / (2 pi 0.6))²) Hz.
        Assert.InRange(f0.GetProperty("value").GetDouble(), 38.9009 - 0.005, 38.9009 + 0.005);

        string page = await File.ReadAllTextAsync(_folder.PathOf("out/report.html"));
        Assert.DoesNotContain("http:", page.Replace("http://www.w3.org", "", StringComparison.Ordinal), StringComparison.Ordinal);
        Assert.Contains("p11.jpg", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Json_is_the_record_and_the_record_repeats_the_analysis()
    {
        SimulatedPhotos photos = Photographed(4);
        string[] given = ["photos", _folder.PathOf("curve"), "--marks", photos.MarksPath, "--table", photos.TablePath, "--json"];

        CommandRun first = await CommandRun.OfAsync([.. given, "--out", _folder.PathOf("out")]);
        CommandRun again = await CommandRun.OfAsync(
            "photos", _folder.PathOf("curve"), "--record", _folder.PathOf("out/record.json"), "--json", "--out", _folder.PathOf("again"));

        Assert.True(again.ExitCode == 0, again.Error);
        Assert.Equal(first.Output, again.Output);
        Assert.Equal(first.Output, await File.ReadAllTextAsync(_folder.PathOf("out/record.json")));
        AnalysisRecord record = RecordJson.Parse(first.Output, "record");
        Assert.Equal(["p1.jpg", "p2.jpg", "p3.jpg", "p4.jpg"], record.Photos.Select(p => p.File));
        Assert.All(record.Photos, p => Assert.Equal(0.4, p.ExposureS!.Value, 1e-9));
    }

    [Fact]
    public async Task Names_are_taken_in_the_order_in_which_cameras_count_and_links_are_not_followed()
    {
        SimulatedPhotos photos = Photographed(3);
        File.Move(photos.Paths[1], _folder.PathOf("curve/p10.JPG"));
        File.WriteAllText(_folder.PathOf("curve/._p1.jpg"), "left by a system");
        File.CreateSymbolicLink(_folder.PathOf("curve/p4.jpg"), photos.Paths[0]);

        CommandRun run = await CommandRun.OfAsync("photos", _folder.PathOf("curve"), "--marks", photos.MarksPath, "--out", _folder.PathOf("out"), "--json");

        Assert.True(run.ExitCode == 0, run.Error);
        AnalysisRecord record = RecordJson.Parse(run.Output, "record");
        Assert.Equal(["p1.jpg", "p3.jpg", "p10.JPG"], record.Photos.Select(p => p.File));
        Assert.Contains(record.Result.Findings, f => f.Code == "photo-left-out" && f.Message.Contains("p4.jpg", StringComparison.Ordinal));
        Assert.False(File.Exists(_folder.PathOf("out/resonance.csv")));
    }

    [Theory]
    [InlineData("photo,frequency_hz\np9.jpg,38\n", "line 2")]
    [InlineData("photo,frequency_hz\np1.jpg,fast\n", "line 2")]
    [InlineData("name,frequency_hz\np1.jpg,38\n", "photo")]
    public async Task A_table_that_does_not_do_is_refused_and_nothing_is_written(string table, string said)
    {
        SimulatedPhotos photos = Photographed(1);

        CommandRun run = await CommandRun.OfAsync(
            "photos", _folder.PathOf("curve"), "--marks", photos.MarksPath, "--table", _folder.WithFile("t.csv", table), "--out", _folder.PathOf("out"));

        Assert.Equal(ExitCode.UnusableInput, run.ExitCode);
        Assert.Contains(said, run.Error, StringComparison.Ordinal);
        Assert.False(Directory.Exists(_folder.PathOf("out")));
    }

    [Fact]
    public async Task An_interrupted_run_leaves_nothing()
    {
        SimulatedPhotos photos = Photographed(3);
        using var output = new StringWriter();
        using var error = new StringWriter();
        using var interrupt = new CancellationTokenSource(TimeSpan.FromMilliseconds(50));

        int code = await CommandLine.RunAsync(
            ["photos", _folder.PathOf("curve"), "--marks", photos.MarksPath, "--out", _folder.PathOf("out")], new CommandStreams(output, error), interrupt.Token);

        Assert.Equal(ExitCode.Interrupted, code);
        Assert.Equal("", output.ToString());
        Assert.False(Directory.Exists(_folder.PathOf("out")));
    }

    [Theory]
    [InlineData("photos", "--out", "x")]
    [InlineData("photos", "p.jpg", "--out", "x")]
    [InlineData("photos", "p.jpg", "--marks", "m.csv")]
    public async Task A_command_line_that_lacks_something_is_a_wrong_one(params string[] args)
    {
        Assert.Equal(ExitCode.Usage, (await CommandRun.OfAsync(args)).ExitCode);
    }

    [Fact]
    public async Task An_empty_folder_is_refused()
    {
        Directory.CreateDirectory(_folder.PathOf("empty"));
        string marks = _folder.WithFile("m.csv", "u_px,v_px,reading_mm\n10,10,0\n200,10,50\n");

        CommandRun run = await CommandRun.OfAsync("photos", _folder.PathOf("empty"), "--marks", marks, "--out", _folder.PathOf("out"));

        Assert.Equal(ExitCode.UnusableInput, run.ExitCode);
        Assert.Contains("no photograph", run.Error, StringComparison.Ordinal);
    }
}
