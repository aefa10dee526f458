using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

/// <summary>Remarks of the fit on what a series cannot tell.</summary>
public class FitFindingsTests
{
    [Fact]
    public void Switch_looked_for_in_a_series_that_begins_after_it_is_not_found()
    {
        EnvelopeData data = SimulatedSeries.Of(SimulatedSeries.Decay(), 300, 0.05, seed: 3);
        EnvelopeFit fit = EnvelopeFitter.Fit(data, new EnvelopeFitOptions { SwitchTime = SwitchTimeSource.ChangePoint });
        Assert.Contains(fit.Findings, finding => finding.Code == "switch-not-found");
        EnvelopeData whole = SimulatedSeries.Of(SimulatedSeries.Decay(t0Seconds: 2), 300, 0.05, seed: 3);
        EnvelopeFit found = EnvelopeFitter.Fit(whole, new EnvelopeFitOptions { SwitchTime = SwitchTimeSource.ChangePoint });
        Assert.DoesNotContain(found.Findings, finding => finding.Code == "switch-not-found");
    }

    [Fact]
    public void Interval_without_an_upper_end_is_told()
    {
        // A third of a second of a decay of 2.35 s, 13 %, in noise of 10 %.
        EnvelopeData data = SimulatedSeries.Of(SimulatedSeries.Decay(), 10, 5, seed: 5);
        EnvelopeFit fit = EnvelopeFitter.Fit(data, new EnvelopeFitOptions { Model = "decay" });
        Assert.Contains(fit.Findings, finding => finding.Code == "open-interval");
    }

    [Fact]
    public void Models_with_different_decay_times_that_fit_alike_are_told()
    {
        // Half a decay time: a floor and a slower decay look the same in noise of 2 %.
        EnvelopeData data = SimulatedSeries.Of(SimulatedSeries.Decay(), 36, 1, seed: 8);
        EnvelopeFit fit = EnvelopeFitter.Fit(data, new EnvelopeFitOptions());
        Assert.Contains(fit.Findings, finding => finding.Code == "models-not-told-apart");
    }

    [Fact]
    public void Decay_named_for_a_series_that_grows_does_not_converge()
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(SimulatedSeries.Of(Math.Exp, 200, 0.05, seed: 1), new EnvelopeFitOptions { Model = "decay" });
        Assert.False(fit.Converged);
        Assert.Equal("not-converged", Assert.Single(fit.Findings).Code);
    }
}
