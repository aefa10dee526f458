using System.Globalization;
using System.Text.Json;

namespace StreakTrack.Cli.Tests;

/// <summary>Series from which nothing, or not much, can be had, through the <c>fit</c> command: a clear error or a finding each time.</summary>
public sealed class DegenerateFitTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("NaN", "usable")]
    [InlineData("one point", "usable")]
    [InlineData("constants", "nothing to fit")]
    [InlineData("increasing", "did not come to rest at a minimum")]
    public async Task A_series_without_a_motion_is_refused_with_the_reason(string kind, string reason)
    {
        CommandRun run = await FitAsync(kind switch
        {
            "NaN" => Series(100, t => (t, double.NaN)),
            "one point" => Series(1, t => (t, 40)),
            "increasing" => Series(100, t => (t, 5 + (3 * t))),
            _ => Series(100, t => (t, 12.5)),
        });

        Assert.Equal(3, run.ExitCode);
        Assert.Contains(reason, run.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Negative_times_are_times_like_others() =>
        Assert.Equal(2, Tau(Result(await FitAsync(Series(200, t => (t - 100, 40 * Math.Exp(-t / 2)))))), 1e-6);

    [Fact]
    public async Task Duplicate_times_are_remarked_and_used()
    {
        JsonElement result = Result(await FitAsync(
            Series(200, t => (Math.Floor(t * 15) / 15, (40 * Math.Exp(-Math.Floor(t * 15) / 30)) + (0.1 * Math.Sin(72 * t))))));

        Assert.Contains(result.GetProperty("findings").EnumerateArray(), f => f.GetProperty("code").GetString() == "broken-frame-times");
        Assert.InRange(Tau(result), 1.98, 2.02);
    }

    [Fact]
    public async Task A_million_points_are_averaged_in_groups_and_fitted()
    {
        JsonElement result = Result(await FitAsync(Series(1_000_000, t => (t * 3e-4, (40 * Math.Exp(-t * 1.5e-4)) + (0.1 * Math.Sin(72 * t))))));

        Assert.Contains(result.GetProperty("findings").EnumerateArray(), f => f.GetProperty("code").GetString() == "points-averaged");
        Assert.Equal(2, Tau(result), 1e-3);
    }

    [Fact]
    public async Task A_decay_time_lost_in_its_uncertainty_has_no_budget_of_q()
    {
        // A million in place of every fourth amplitude and every fourth time: tau comes out as a small part of a thousandth of its uncertainty.
        JsonElement result = Result(await FitAsync(
            string.Concat(Series(48, t => (t, 30 * Math.Exp(-2 * t))).Split('\n').Select((line, row) => row == 0 || line.Length == 0 ? line + "\n"
                : row % 4 == 2 ? line.Split(',')[0] + ",1000000\n" : row % 4 == 0 ? "1000000," + line.Split(',')[1] + "\n" : line + "\n")),
            "--frequency", "36.7"));

        JsonElement tau = result.GetProperty("fit").GetProperty("parameters").GetProperty("tau_s");
        Assert.True(tau.GetProperty("standard_uncertainty").GetDouble() > 1e3 * Tau(result));
        Assert.DoesNotContain(result.GetProperty("budgets").EnumerateArray(), b => b.GetProperty("quantity").GetString() == "Q");
    }

    private static double Tau(JsonElement result) =>
        result.GetProperty("fit").GetProperty("parameters").GetProperty("tau_s").GetProperty("value").GetDouble();

    private static JsonElement Result(CommandRun run)
    {
        Assert.True(run.ExitCode == 0, run.Error);
        using JsonDocument document = JsonDocument.Parse(run.Output);
        return document.RootElement.GetProperty("result").Clone();
    }

    private Task<CommandRun> FitAsync(string series, params string[] more) =>
        CommandRun.OfAsync(["fit", _folder.WithFile("series.csv", series), "--out", _folder.PathOf("out"), "--json", .. more]);

    /// <summary>A table of points at 30 a second, each as the time and the amplitude that are written for it.</summary>
    private static string Series(int count, Func<double, (double Time, double Amplitude)> point) =>
        "time_s,amplitude_mm\n" + string.Concat(Enumerable.Range(0, count).Select(i =>
        {
            (double time, double amplitude) = point(i / 30.0);
            return string.Create(CultureInfo.InvariantCulture, $"{time:R},{(double.IsNaN(amplitude) ? "" : amplitude):R}\n");
        }));
}
