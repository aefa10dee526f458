using System.Globalization;
using System.Numerics;
using System.Text;
using System.Text.Json;

namespace StreakTrack.Cli.Tests;

/// <summary>The <c>fit</c> command on series made here from known curves.</summary>
public sealed class FitTests : IDisposable
{
    private const double TauSeconds = 2;

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task The_record_holds_fit_robustness_and_budgets()
    {
        JsonElement result = await FitAsync(Decay(), "--frequency", "35", "--distance", "1000", "--monte-carlo", "2000", "--seed", "3");

        JsonElement tau = result.GetProperty("fit").GetProperty("parameters").GetProperty("tau_s");
        Assert.InRange(TauSeconds, tau.GetProperty("interval95")[0].GetDouble(), tau.GetProperty("interval95")[1].GetDouble());
        Assert.Equal("analysis", result.GetProperty("robustness")[0].GetProperty("group").GetString());
        Assert.True(result.GetProperty("robustness").GetArrayLength() > 8);
        string[] quantities = [.. result.GetProperty("budgets").EnumerateArray().Select(b => b.GetProperty("quantity").GetString()!)];
        Assert.Equal(["tau", "Q", "amplitude at the mirror"], quantities);
        foreach (JsonElement budget in result.GetProperty("budgets").EnumerateArray())
        {
            double share = budget.GetProperty("inputs").EnumerateArray().Sum(i => i.GetProperty("share").GetDouble());
            Assert.Equal(1, share, 1e-9);
            Assert.Equal(2000, budget.GetProperty("monte_carlo").GetProperty("trials").GetInt32());
            Assert.Equal(3, budget.GetProperty("monte_carlo").GetProperty("seed").GetInt32());
        }
    }

    // Steps on resonance and beside it, long enough to settle; the motion between them from the equation of the envelope in the frame of
    // each drive. The limit of the response for a high Q is used, whose f0 is the damped frequency.
    [Fact]
    public async Task A_sweep_with_its_table_gives_resonance_and_a_table_that_the_resonance_command_takes()
    {
        const double f0 = 35.2, tau = 0.8, hold = 4;
        double[] drives = [34.6, 34.9, 35.05, 35.2, 35.35, 35.5, 35.8];
        var random = new Random(4);
        var series = new StringBuilder("frame,time_s,amplitude_mm,amplitude_u_mm\n");
        Complex z = 50 / new Complex(1, 2 * Math.PI * tau * (drives[0] - f0));
        for (int k = 0; k < drives.Length; k++)
        {
            Complex steady = 50 / new Complex(1, 2 * Math.PI * tau * (drives[k] - f0));
            Complex At(double s) => steady + ((z - steady) * Complex.Exp(new Complex(-1 / tau, -2 * Math.PI * (drives[k] - f0)) * s));
            for (int i = 0; i < 30 * hold; i++)
            {
                double noise = 0.1 * (random.NextDouble() + random.NextDouble() + random.NextDouble() - 1.5);
                series.Append(CultureInfo.InvariantCulture, $"{i + (30 * hold * k)},{(i / 30.0) + (hold * k):R},{At(i / 30.0).Magnitude + noise:R},0.05\n");
            }

            z = At(hold);
        }

        string steps = "frequency_hz,start_s\n" + string.Concat(drives.Select((f, k) => string.Create(CultureInfo.InvariantCulture, $"{f},{k * hold}\n")));
        string table = _folder.WithFile("steps.csv", steps), file = _folder.WithFile("sweep-series.csv", series.ToString()), folder = _folder.PathOf("swept");

        CommandRun run = await CommandRun.OfAsync("fit", file, "--steps", table, "--out", folder, "--json");

        Assert.True(run.ExitCode == 0, run.Error);
        using JsonDocument record = JsonDocument.Parse(run.Output);
        JsonElement result = record.RootElement.GetProperty("result");
        Assert.Equal(JsonValueKind.Null, result.GetProperty("fit").ValueKind);
        JsonElement parameters = result.GetProperty("sweep").GetProperty("parameters");
        Assert.Equal(f0, parameters.GetProperty("damped_frequency_hz").GetProperty("value").GetDouble(), 0.002);
        Assert.Equal(Math.PI * f0 * tau, parameters.GetProperty("q").GetProperty("value").GetDouble(), 0.5);
        Assert.Equal(drives.Length, result.GetProperty("sweep").GetProperty("plateaus").GetArrayLength());
        Assert.Equal(drives.Length, record.RootElement.GetProperty("options").GetProperty("drive_steps").GetArrayLength());
        CommandRun study = await CommandRun.OfAsync("resonance", Path.Combine(folder, "plateaus.csv"), "--out", _folder.PathOf("curve"));
        Assert.True(study.ExitCode == 0, study.Error);
        Assert.Contains("Resonance at 35.", study.Output, StringComparison.Ordinal);

        CommandRun without = await CommandRun.OfAsync("fit", file, "--out", folder);
        Assert.Equal(3, without.ExitCode);
        Assert.Contains("several-drive-changes", without.Output, StringComparison.Ordinal);
        Assert.False(File.Exists(Path.Combine(folder, "plateaus.csv")));
    }

    [Theory]
    [InlineData("robust", "robust", 0.5)]
    [InlineData("auto", "robust", 0.5)]
    [InlineData("least-squares", "least-squares", 1)]
    public async Task Stray_points_are_named_whatever_the_loss(string loss, string used, double largestWeight)
    {
        JsonElement fit = (await FitAsync(Decay(strayEvery: 40), "--loss", loss)).GetProperty("fit");

        Assert.Equal(used, fit.GetProperty("loss").GetString());
        JsonElement[] flagged = [.. fit.GetProperty("flagged_points").EnumerateArray()];
        Assert.Equal([40, 80, 120, 160, 200], flagged.Select(p => p.GetProperty("frame").GetInt32()));
        Assert.All(flagged, p => Assert.InRange(p.GetProperty("weight").GetDouble(), 1e-9, largestWeight));
        Assert.Contains("Points far off the curve", File.ReadAllText(_folder.PathOf("out/report.html")), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_switch_time_can_be_known_found_or_fitted()
    {
        string series = Decay(switchSeconds: 1.01);
        JsonElement T0(JsonElement result) => result.GetProperty("fit").GetProperty("parameters").GetProperty("t0_s");
        JsonElement known = T0(await FitAsync(series, "--switch-time", "1.01", "--switch-time-u", "0.01"));
        JsonElement found = T0(await FitAsync(series, "--switch-time", "found"));
        JsonElement fitted = T0(await FitAsync(series, "--switch-time", "fitted"));

        Assert.Equal(1.01, known.GetProperty("value").GetDouble());
        Assert.Equal(0.01, known.GetProperty("standard_uncertainty").GetDouble(), 1e-12);
        Assert.All(new[] { known, found }, t0 => Assert.True(t0.GetProperty("held").GetBoolean()));
        Assert.False(fitted.GetProperty("held").GetBoolean());
        Assert.All(new[] { found, fitted }, t0 =>
        {
            Assert.InRange(t0.GetProperty("standard_uncertainty").GetDouble(), 1e-5, 0.05);
            Assert.InRange(1.01, t0.GetProperty("interval95")[0].GetDouble(), t0.GetProperty("interval95")[1].GetDouble());
        });
    }

    [Theory]
    [InlineData("--switch-time", "soon")]
    [InlineData("--switch-time-u", "0.1")]
    [InlineData("--loss", "soft")]
    [InlineData("--monte-carlo", "10")]
    [InlineData("--bootstrap", "3")]
    [InlineData("--seed", "1.5")]
    public async Task An_option_that_makes_no_sense_is_a_usage_error(string option, string value)
    {
        CommandRun run = await CommandRun.OfAsync("fit", _folder.WithFile("series.csv", Decay()), "--out", _folder.PathOf("out"), option, value);

        Assert.Equal(2, run.ExitCode);
        Assert.Contains(option == "--loss" ? value : option, run.Error, StringComparison.Ordinal);
    }

    // The same decay as other programs would write it: every form gives the same decay time and amplitude.
    [Theory]
    [InlineData("ms", 1000, "cm", 0.1, ';', ',')]
    [InlineData("min", 1 / 60.0, "m", 0.001, '\t', ',')]
    [InlineData("s", 1, "um", 1000, ',', '.')]
    [InlineData("s", 1, "px", 4, ';', '.', "--mm-per-px", "0.25")]
    public async Task A_series_of_another_program_is_read_by_its_names_units_and_decimal_sign(
        string timeUnit, double timePerSecond, string unit, double perMm, char separator, char decimalSign, params string[] more)
    {
        JsonElement ours = (await FitAsync(Decay())).GetProperty("fit").GetProperty("parameters");
        string Cell(double value) => value.ToString("R", CultureInfo.InvariantCulture).Replace('.', decimalSign);
        string[] rows =
        [
            .. Decay().Split('\n', StringSplitOptions.RemoveEmptyEntries).Skip(1)
                .Select(row => row.Split(',').Select(cell => double.Parse(cell, CultureInfo.InvariantCulture)).ToArray())
                .Select(row => $"{Cell(row[0] * timePerSecond)}{separator}{Cell(row[1] * perMm)}{separator}"),
        ];
        string sheet = $"\uFEFF# exported\r\nT{separator}\"Height, half\"{separator}note\r\n\r\n" + string.Join("\r\n", rows) + "\r\n";

        JsonElement theirs = (await FitAsync(sheet,
            ["--time-column", "t", "--time-unit", timeUnit, "--amplitude-column", "Height, half", "--amplitude-unit", unit, .. more]))
            .GetProperty("fit").GetProperty("parameters");

        foreach (string name in (string[])["tau_s", "amplitude0_mm"])
        {
            foreach (string part in (string[])["value", "standard_uncertainty"])
            {
                double expected = ours.GetProperty(name).GetProperty(part).GetDouble();
                Assert.Equal(expected, theirs.GetProperty(name).GetProperty(part).GetDouble(), 1e-6 * expected);
            }
        }
    }

    [Theory]
    [InlineData("--amplitude-unit", "px")]
    [InlineData("--amplitude-unit", "mrad")]
    [InlineData("--mm-per-px", "0.2")]
    public async Task A_unit_without_what_carries_it_to_the_ruler_is_a_usage_error(string option, string value)
    {
        CommandRun run = await CommandRun.OfAsync("fit", _folder.WithFile("series.csv", Decay()), "--out", _folder.PathOf("out"), option, value);

        Assert.Equal(2, run.ExitCode);
        Assert.Contains("needs --", run.Error, StringComparison.Ordinal);
    }

    private async Task<JsonElement> FitAsync(string series, params string[] options)
    {
        CommandRun run = await CommandRun.OfAsync(
            ["fit", _folder.WithFile("series.csv", series), "--out", _folder.PathOf("out"), "--json", .. options]);
        Assert.True(run.ExitCode == 0, run.Error);
        using JsonDocument document = JsonDocument.Parse(run.Output);
        return document.RootElement.GetProperty("result").Clone();
    }

    /// <summary>A decay of 40 mm with seeded noise of 0.05 mm, 8 s at 30 a second; strays are 3 mm off.</summary>
    private static string Decay(double switchSeconds = -1, int strayEvery = int.MaxValue)
    {
        var random = new Random(11);
        var table = new StringBuilder("time_s,amplitude_mm\n");
        for (int i = 0; i < 240; i++)
        {
            double time = i / 30.0;
            double noise = 0.05 * Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
            double amplitude = 40 * Math.Exp(-Math.Max(0, time - Math.Max(0, switchSeconds)) / TauSeconds) + noise
                + (i > 0 && i % strayEvery == 0 ? 3 : 0);
            table.Append(CultureInfo.InvariantCulture, $"{time:R},{amplitude:R}\n");
        }

        return table.ToString();
    }
}
