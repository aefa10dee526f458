using System.Globalization;
using System.Text.Json;
using StreakTrack.Core.Records;

namespace StreakTrack.Cli.Tests;

/// <summary>The whole job on clips with known truth; see fixtures/clips/README.md for where they come from.</summary>
public sealed class AnalyzeTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    // Bars: 0.5 % on the clean clip, 2 % on clips with one difficulty. They were set before anything was measured.
    [Theory]
    [InlineData("ringdown_dark_720p30", "decay", 0.005)]
    [InlineData("ringdown_lit_1080p30", "decay", 0.02)]
    [InlineData("green_steel_nosteady", "decay", 0.02)]
    [InlineData("switchon_720p30", "rise", 0.02)]
    [InlineData("portrait_hevc_vfr", "decay", 0.02)]
    public async Task The_decay_time_is_found_and_its_interval_is_honest(string name, string model, double tolerance)
    {
        var clip = new ClipWithTruth(name);

        AnalysisRecord record = await AnalyzeAsync(clip);

        Assert.StartsWith(model, record.Result.Fit!.Model, StringComparison.Ordinal);
        ParameterRecord tau = record.Result.Fit.Parameters["tau_s"];
        Assert.InRange(tau.Value / clip.TauSeconds, 1 - tolerance, 1 + tolerance);
        Assert.InRange(tau.StandardUncertainty!.Value / tau.Value, 1e-5, tolerance);

        double[] truth = clip.TimesSeconds;
        Assert.Equal(truth.Length, record.Clip!.Frames);
        Assert.Equal(truth[^1], record.Clip.LastTimeS, 1e-4);
    }

    [Fact]
    public async Task Amplitudes_of_a_clean_clip_agree_with_the_truth_frame_by_frame()
    {
        var clip = new ClipWithTruth("ringdown_dark_720p30");
        await AnalyzeAsync(clip);

        string[] lines = await File.ReadAllLinesAsync(_folder.PathOf("out/series.csv"));
        string[] header = lines[0].Split(',');
        int amplitude = Array.IndexOf(header, "amplitude_mm"), flags = Array.IndexOf(header, "flags"), time = Array.IndexOf(header, "time_s");
        Assert.StartsWith("frame,time_s,left_mm,right_mm,length_mm,amplitude_mm,amplitude_u_mm,threshold_amplitude_mm,amplitude_mrad", lines[0],
            StringComparison.Ordinal);
        double[] truth = clip.AmplitudesMm, times = clip.TimesSeconds;
        Assert.Equal(truth.Length, lines.Length - 1);

        double[] errors = [.. Enumerable.Range(0, truth.Length)
            .Where(i => lines[i + 1].Split(',')[flags].Length == 0)
            .Select(i => Number(lines[i + 1].Split(',')[amplitude]) - truth[i])];
        double mean = errors.Average();
        double scatter = Math.Sqrt(errors.Average(e => (e - mean) * (e - mean)));

        // The bar is for unsaturated frames; at small amplitudes this clip's spot is clipped, and those frames carry a flag.
        Assert.True(errors.Length > 0.5 * truth.Length, $"{errors.Length} of {truth.Length} frames are free of remarks");
        Assert.InRange(mean, -0.1, 0.1);
        Assert.InRange(scatter, 0, 0.15);
        for (int i = 0; i < times.Length; i++)
            Assert.Equal(times[i], Number(lines[i + 1].Split(',')[time]), 1e-4);
    }

    [Fact]
    public async Task The_output_folder_holds_what_the_readme_lists()
    {
        await AnalyzeAsync(new ClipWithTruth("ringdown_dark_720p30"));

        foreach (string file in new[] { "record.json", "series.csv", "datapackage.json", "report.html" })
            Assert.True(new FileInfo(_folder.PathOf("out/" + file)).Length > 0, file);
        Assert.Contains(Directory.GetFiles(_folder.PathOf("out/figures")), f => f.EndsWith(".png", StringComparison.Ordinal));
    }

    [Fact]
    public async Task The_same_clip_with_its_record_gives_the_same_numbers()
    {
        var clip = new ClipWithTruth("ringdown_dark_720p30");
        await AnalyzeAsync(clip);

        CommandRun again = await CommandRun.OfAsync("analyze", clip.Path, "--record", _folder.PathOf("out/record.json"), "--out", _folder.PathOf("again"));

        Assert.Equal(0, again.ExitCode);
        Assert.Equal(File.ReadAllText(_folder.PathOf("out/series.csv")), File.ReadAllText(_folder.PathOf("again/series.csv")));
        Assert.Equal(File.ReadAllText(_folder.PathOf("out/record.json")), File.ReadAllText(_folder.PathOf("again/record.json")));
    }

    [Fact]
    public async Task Frequency_and_distance_bring_Q_and_angles()
    {
        var clip = new ClipWithTruth("ringdown_dark_720p30");

        AnalysisRecord record = await AnalyzeAsync(clip, "--frequency", Text(clip.FrequencyHz), "--distance", Text(clip.DistanceMm));

        // Q = pi f0 tau, sources.md of the reference data: seen in a public laboratory note.
        QuantityRecord q = record.Result.Oscillator["q"];
        Assert.InRange(q.Value / (Math.PI * clip.FrequencyHz * clip.TauSeconds), 0.995, 1.005);
        string firstRow = (await File.ReadAllLinesAsync(_folder.PathOf("out/series.csv")))[1];
        string[] header = (await File.ReadAllLinesAsync(_folder.PathOf("out/series.csv")))[0].Split(',');

        // x = L tan 2 theta with the clip's steady amplitude.
        double expectedMrad = 500 * Math.Atan(clip.AmplitudesMm[0] / clip.DistanceMm);
        Assert.Equal(expectedMrad, Number(firstRow.Split(',')[Array.IndexOf(header, "amplitude_mrad")]), 0.01 * expectedMrad);
    }

    [Fact]
    public async Task A_series_file_gives_the_same_fit_as_the_clip_it_came_from()
    {
        AnalysisRecord fromClip = await AnalyzeAsync(new ClipWithTruth("ringdown_dark_720p30"));

        string offset = Text(fromClip.Result.Fit!.LengthOffsetUncertaintyMm);
        CommandRun fit = await CommandRun.OfAsync(
            "fit", _folder.PathOf("out/series.csv"), "--out", _folder.PathOf("fit"), "--json", "--offset-u", offset);

        Assert.Equal(0, fit.ExitCode);
        AnalysisRecord record = RecordJson.Parse(fit.Output, "standard output");
        Assert.Equal(fromClip.Result.Fit.Parameters["tau_s"].Value, record.Result.Fit!.Parameters["tau_s"].Value);
    }

    private async Task<AnalysisRecord> AnalyzeAsync(ClipWithTruth clip, params string[] more)
    {
        CommandRun run = await CommandRun.OfAsync(
            ["analyze", clip.Path, "--marks", clip.Marks, "--out", _folder.PathOf("out"), "--json", .. more]);
        Assert.True(run.ExitCode == 0, run.Error);
        using (JsonDocument.Parse(run.Output))
        {
            // Standard output is one JSON text and nothing else.
        }

        return RecordJson.Parse(run.Output, "standard output");
    }

    private static double Number(string text) => double.Parse(text, CultureInfo.InvariantCulture);

    private static string Text(double value) => value.ToString(CultureInfo.InvariantCulture);
}
