using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

public class StudyTests
{
    private static readonly BootstrapOptions Quick = new() { Seed = 7, Replicates = 60 };

    [Fact]
    public void A_seed_makes_the_bootstrap_repeatable()
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(SimulatedSeries.Of(SimulatedSeries.Decay(), 240, 0.35, seed: 3));

        BootstrapResult first = BlockBootstrap.Run(fit, Quick), second = BlockBootstrap.Run(fit, Quick), other = BlockBootstrap.Run(fit, Quick with { Seed = 8 });

        Assert.Equal(first.StandardUncertainties, second.StandardUncertainties);
        Assert.NotEqual(first.StandardUncertainties, other.StandardUncertainties);
        Assert.Equal(7, first.Seed);
        Assert.Equal(["tau_s", "amplitude0_mm"], first.Names);
    }

    // 60 replicates scatter by 1/sqrt(120) = 9 %; blocks of 6 of 240 independent residuals change little: 30 % allowed.
    [Fact]
    public void For_independent_noise_the_bootstrap_agrees_with_the_covariance()
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(SimulatedSeries.Of(SimulatedSeries.Decay(), 240, 0.35, seed: 3));

        BootstrapResult result = BlockBootstrap.Run(fit, Quick);

        Assert.Equal(1, result.StandardUncertainties[0] / fit.Parameter("tau_s")!.StandardUncertainty, 0.3);
        Assert.Equal(0, result.Failures);
    }

    [Theory]
    [InlineData(10, null)]
    [InlineData(100, 0)]
    [InlineData(100, 240)]
    public void Settings_that_make_no_bootstrap_are_refused(int replicates, int? block)
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(SimulatedSeries.Of(SimulatedSeries.Decay(), 240, 0.35, seed: 3));

        Assert.Throws<ArgumentException>(() => BlockBootstrap.Run(fit, new BootstrapOptions { Replicates = replicates, BlockLength = block }));
    }

    [Fact]
    public void The_robustness_table_of_a_plain_decay_is_quiet()
    {
        EnvelopeData data = SimulatedSeries.Of(SimulatedSeries.Decay(t0Seconds: 1.2), 300, 0.1, seed: 3, statedSigmaMm: 0.1);
        EnvelopeFit fit = EnvelopeFitter.Fit(data);

        RobustnessTable table = RobustnessStudy.Run(data, new EnvelopeFitOptions(), fit);

        Assert.Equal(RobustnessGroup.Analysis, table.Rows[0].Group);
        Assert.Empty(table.Findings);
        Assert.Equal(5, table.Rows.Count(row => row.Group == RobustnessGroup.WindowStart));
        Assert.Equal(5, table.Rows.Count(row => row.Group == RobustnessGroup.WindowEnd));
        Assert.Equal(2, table.Rows.Count(row => row.Group == RobustnessGroup.Weighting));
        Assert.All(table.Rows, row => Assert.InRange(row.TauSeconds, 2.3, 2.4));
    }

    [Fact]
    public void A_single_exponential_forced_onto_a_floor_is_seen_to_depend_on_the_window()
    {
        EnvelopeData data = SimulatedSeries.Of(SimulatedSeries.Decay(floorMm: 3), 300, 0.1, seed: 3);

        // With correlated residuals allowed for, the misfit enlarges the uncertainty until the windows agree.
        var options = new EnvelopeFitOptions { Model = "decay", Correlation = CorrelationTreatment.Independent };

        RobustnessTable table = RobustnessStudy.Run(data, options, EnvelopeFitter.Fit(data, options));

        Assert.Contains(table.Findings, finding => finding.Code == FindingKinds.TauDependsOnWindow.Code);
    }

    [Fact]
    public void A_fit_that_failed_is_refused_by_the_studies()
    {
        EnvelopeData data = EnvelopeData.FromNumbers([0, 1], [1, 1]);
        EnvelopeFit fit = EnvelopeFitter.Fit(data);

        Assert.Throws<ArgumentException>(() => BlockBootstrap.Run(fit));
        Assert.Throws<ArgumentException>(() => RobustnessStudy.Run(data, new EnvelopeFitOptions(), fit));
    }

    // Noise with correlation 0.5 and weights, as clips have them: the variances of part and whole then differ by chance as much as by
    // design. Each of ten rows may pass 3.5 deviations in 0.05 % of series; with few degrees of freedom in the shortest parts 2 of 40 are
    // allowed.
    [Fact]
    public void A_plain_decay_in_correlated_noise_depends_on_no_window()
    {
        int alarms = Enumerable.Range(0, 40).Count(seed =>
        {
            EnvelopeData data = SimulatedSeries.Of(SimulatedSeries.Decay(), 240, 0.1, 900 + seed, correlation: 0.5, statedSigmaMm: 0.08);
            var options = new EnvelopeFitOptions { Model = "decay" };
            return RobustnessStudy.Run(data, options, EnvelopeFitter.Fit(data, options)).Findings.Count > 0;
        });

        Assert.InRange(alarms, 0, 2);
    }
}
