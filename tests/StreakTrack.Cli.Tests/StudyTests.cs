using System.Globalization;
using System.Text;
using System.Text.Json;

namespace StreakTrack.Cli.Tests;

public sealed class StudyTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task A_resonance_table_gives_back_the_curve_it_was_made_from()
    {
        // The exact response A0/sqrt((1 - (f/f0)²)² + (f/(f0 Q))²) without noise: f0 and Q must come back to the digits written.
        const double f0 = 35.2, q = 180;
        var table = new StringBuilder("frequency_hz,amplitude_mm\n");
        for (double f = 34.6; f < 35.85; f += 0.1)
        {
            double x = f / f0;
            double amplitude = 50 / q / Math.Sqrt(((1 - (x * x)) * (1 - (x * x))) + (x / q * (x / q)));
            table.Append(CultureInfo.InvariantCulture, $"{f:R},{amplitude:R}\n");
        }

        CommandRun run = await CommandRun.OfAsync("resonance", _folder.WithFile("sweep.csv", table.ToString()), "--out", _folder.PathOf("out"), "--json");

        Assert.True(run.ExitCode == 0, run.Error);
        using JsonDocument document = JsonDocument.Parse(run.Output);
        double[] values = [.. document.RootElement.GetProperty("quantities").EnumerateArray().Select(e => e.GetProperty("value").GetDouble())];
        Assert.Contains(values, v => Math.Abs(v - f0) < 1e-6 * f0);
        Assert.Contains(values, v => Math.Abs(v - q) < 1e-6 * q);
        Assert.True(File.Exists(_folder.PathOf("out/report.html")));
    }

    [Fact]
    public async Task A_stiffness_table_on_a_line_gives_its_frequency_at_zero_current()
    {
        // f0² = 900 + 40 I, so f0 at zero current is 30 Hz.
        string table = "current_a,frequency_hz\n" + string.Concat(Enumerable.Range(-3, 7).Select(i =>
            string.Create(CultureInfo.InvariantCulture, $"{i},{Math.Sqrt(900 + (40 * i)):R}\n")));

        CommandRun run = await CommandRun.OfAsync("stiffness", _folder.WithFile("coil.csv", table), "--out", _folder.PathOf("out"), "--json");

        Assert.True(run.ExitCode == 0, run.Error);
        using JsonDocument document = JsonDocument.Parse(run.Output);
        double[] values = [.. document.RootElement.GetProperty("quantities").EnumerateArray().Select(e => e.GetProperty("value").GetDouble())];
        Assert.Contains(values, v => Math.Abs(v - 30) < 1e-6);
    }

    [Theory]
    [InlineData("resonance", "frequency_hz\n35\n")]
    [InlineData("resonance", "frequency_hz,amplitude_mm\n35,abc\n")]
    [InlineData("stiffness", "current_a,frequency_hz\n1,30\n")]
    [InlineData("damping", "tau_s\n2\n")]
    [InlineData("damping", "")]
    public async Task A_table_that_does_not_do_is_refused_by_name(string command, string table)
    {
        CommandRun run = await CommandRun.OfAsync(command, _folder.WithFile("table.csv", table), "--out", _folder.PathOf("out"));

        Assert.Equal(3, run.ExitCode);
        Assert.Contains("table.csv", run.Error, StringComparison.Ordinal);
        Assert.Empty(run.Output);
    }
}
