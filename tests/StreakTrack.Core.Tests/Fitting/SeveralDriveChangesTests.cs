using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

public class SeveralDriveChangesTests
{
    private const double Tau = 1.2;

    /// <summary>The amplitude approaches each level in turn, on resonance: real amplitudes, no beats.</summary>
    private static Func<double, double> Levels(double holdSeconds, params double[] levels) => t =>
    {
        double amplitude = levels[0];
        for (int k = 1; k < levels.Length && t > k * holdSeconds; k++)
        {
            double since = Math.Min(t - (k * holdSeconds), holdSeconds);
            amplitude = levels[k] + ((amplitude - levels[k]) * Math.Exp(-since / Tau));
        }

        return amplitude;
    };

    private static EnvelopeFit Fit(Func<double, double> curve, int count, double sigmaMm = 0.1) =>
        EnvelopeFitter.Fit(SimulatedSeries.Of(curve, count, sigmaMm, seed: 8, statedSigmaMm: sigmaMm));

    [Theory]
    [InlineData("12 20 45 30 15")]
    [InlineData("0 40 0")]
    [InlineData("40 0 40 0")]
    [InlineData("10 40 25")]
    public void No_decay_time_is_stated_when_the_drive_was_changed_more_than_once(string levelsMm)
    {
        double[] levels = [.. levelsMm.Split(' ').Select(level => double.Parse(level, CultureInfo.InvariantCulture))];
        EnvelopeFit fit = Fit(Levels(7, levels), 30 * 7 * levels.Length);

        Assert.False(fit.Converged);
        Assert.Null(fit.Parameter("tau_s"));
        Finding finding = Assert.Single(fit.Findings, f => f.Code == "several-drive-changes");
        Assert.Equal(FindingSeverity.Error, finding.Severity);

        // A level that the motion had hardly reached when the drive changed again may go unnamed, but none is invented.
        int named = Enumerable.Range(3, levels.Length).Single(
            count => finding.Message.Contains($"at least {count} times", StringComparison.Ordinal));
        Assert.InRange(named, 3, levels.Length);
    }

    [Fact]
    public void A_window_around_one_of_the_changes_is_fitted()
    {
        EnvelopeData data = SimulatedSeries.Of(Levels(7, 12, 20, 45, 30, 15), 1050, 0.1, seed: 8, statedSigmaMm: 0.1);

        EnvelopeFit fit = EnvelopeFitter.Fit(data, new EnvelopeFitOptions { WindowStartSeconds = 8, WindowEndSeconds = 20 });

        // Five standard uncertainties of the fit, each about 0.004 s.
        Assert.InRange(fit.Parameter("tau_s")!.Value, Tau - 0.02, Tau + 0.02);
    }

    public static TheoryData<string> SingleChanges() => ["decay", "decay to a floor", "rise", "beats", "slow beats", "drag"];

    // However long the motion is followed, and however little it scatters: one change leaves two levels.
    [Theory]
    [MemberData(nameof(SingleChanges))]
    public void One_change_leaves_at_most_two_levels(string motion)
    {
        Func<double, double> curve = motion switch
        {
            "decay" => SimulatedSeries.Decay(t0Seconds: 3),
            "decay to a floor" => SimulatedSeries.Decay(t0Seconds: 3, floorMm: 5),
            "rise" => SimulatedSeries.Rise(t0Seconds: 3),
            "beats" => SimulatedSeries.Beats(t0Seconds: 3),
            "slow beats" => SimulatedSeries.Beats(t0Seconds: 3, detuningHz: 0.15, tauSeconds: 6),
            "drag" => t => EnvelopeModels.Drag.Value(Math.Max(0, t - 3), [2.35, 48, 0.004], [], out _),
            _ => throw new ArgumentOutOfRangeException(nameof(motion)),
        };
        foreach (double sigma in (double[])[0.001, 0.1, 1])
        {
            EnvelopeFit fit = Fit(curve, 1350, sigma);

            Assert.DoesNotContain(fit.Findings, f => f.Code == "several-drive-changes");
        }
    }

    [Fact]
    public void Few_points_have_no_stretches()
    {
        Assert.Empty(SteadyStretch.Find(new FitPoints([0, 1, 2], [0, 0.1, 0.2], [3, 2, 1.5], [0.1, 0.1, 0.1])));
    }
}
