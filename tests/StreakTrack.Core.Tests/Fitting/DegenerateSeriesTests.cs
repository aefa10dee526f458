using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

/// <summary>
/// Series from which nothing, or not much, can be had: a finding or an argument error each time, never a number without a remark.
/// </summary>
public class DegenerateSeriesTests
{
    private static double[] Times(int count) => [.. Enumerable.Range(0, count).Select(i => i / 30.0)];

    private static EnvelopeData Data(int count, Func<double, double> curve) => EnvelopeData.FromNumbers(Times(count), [.. Times(count).Select(curve)]);

    private static void HasNoFit(EnvelopeFit fit, FindingKind reason)
    {
        Assert.False(fit.Converged);
        Assert.Empty(fit.Parameters);
        Assert.Equal("none", fit.ModelName);
        Assert.Contains(fit.Findings, finding => finding.Code == reason.Code && finding.Severity == FindingSeverity.Error);
        Assert.True(double.IsNaN(fit.Curve(0)));
    }

    [Fact]
    public void An_empty_series_has_too_few_points() => HasNoFit(EnvelopeFitter.Fit(Data(0, _ => 1)), FindingKinds.TooFewPoints);

    [Fact]
    public void One_point_is_too_few() => HasNoFit(EnvelopeFitter.Fit(Data(1, _ => 1)), FindingKinds.TooFewPoints);

    [Fact]
    public void A_series_of_NaN_has_too_few_points() => HasNoFit(EnvelopeFitter.Fit(Data(100, _ => double.NaN)), FindingKinds.TooFewPoints);

    [Fact]
    public void Infinite_amplitudes_are_not_usable() => HasNoFit(EnvelopeFitter.Fit(Data(100, _ => double.PositiveInfinity)), FindingKinds.TooFewPoints);

    [Fact]
    public void Displacements_are_no_amplitudes()
    {
        HasNoFit(EnvelopeFitter.Fit(Data(200, t => 40 * Math.Exp(-t / 2) * Math.Cos(6 * t))), FindingKinds.NegativeAmplitudes);
        HasNoFit(EnvelopeFitter.Fit(Data(200, t => -40 * Math.Exp(-t / 2))), FindingKinds.NegativeAmplitudes);
    }

    [Fact]
    public void Noise_about_rest_is_no_displacement() => Assert.True(EnvelopeFitter.Fit(
        SimulatedSeries.Of(SimulatedSeries.Decay(tauSeconds: 1), 300, 0.5, 3)).Converged);

    [Fact]
    public void NaN_among_good_points_is_left_out()
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(Data(200, t => (int)Math.Round(t * 30) % 5 == 0 ? double.NaN : 40 * Math.Exp(-t / 2)));

        Assert.Equal(160, fit.PointCount);
        Assert.Equal(2, fit.Parameter("tau_s")!.Value, 1e-9);
    }

    [Fact]
    public void A_constant_has_no_change() => HasNoFit(EnvelopeFitter.Fit(Data(100, _ => 12.5)), FindingKinds.NoChangeSeen);

    [Fact]
    public void Zeros_have_no_change() => HasNoFit(EnvelopeFitter.Fit(Data(100, _ => 0)), FindingKinds.NoChangeSeen);

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void Noise_about_a_constant_never_gives_a_decay_time_without_a_remark(int seed)
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(SimulatedSeries.Of(_ => 30, 240, 0.3, seed));

        Assert.Contains(fit.Findings, finding => finding.Severity >= FindingSeverity.Warning);
    }

    [Fact]
    public void Rising_values_give_a_rise_or_a_remark_never_a_decay()
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(Data(100, t => 5 + 3 * t));

        Assert.NotEqual("decay", fit.ModelName);
        Assert.Contains(fit.Findings, finding => finding.Severity >= FindingSeverity.Warning);
    }

    [Fact]
    public void Negative_times_are_times_like_others()
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(
            EnvelopeData.FromNumbers([.. Times(200).Select(t => t - 100)], [.. Times(200).Select(t => 40 * Math.Exp(-t / 2))]));

        Assert.Equal(2, fit.Parameter("tau_s")!.Value, 1e-9);
        Assert.Equal(-100, fit.Parameter("t0_s")!.Value);
    }

    [Fact]
    public void Repeated_times_are_remarked_and_used()
    {
        double[] times = [.. Times(200).Select(t => Math.Floor(t * 15) / 15)];

        EnvelopeFit fit = EnvelopeFitter.Fit(EnvelopeData.FromNumbers(times, [.. times.Select((t, i) => 40 * Math.Exp(-t / 2) + 0.1 * Math.Sin(2.4 * i))]));

        Assert.Contains(fit.Findings, finding => finding.Code == FindingKinds.BrokenFrameTimes.Code);
        Assert.InRange(fit.Parameter("tau_s")!.Value, 1.98, 2.02);
    }

    [Fact]
    public void Times_in_disorder_are_remarked_and_sorted()
    {
        double[] times = [.. Times(200).Reverse()];

        EnvelopeFit fit = EnvelopeFitter.Fit(EnvelopeData.FromNumbers(times, [.. times.Select(t => 40 * Math.Exp(-t / 2))]));

        Assert.Contains(fit.Findings, finding => finding.Code == FindingKinds.BrokenFrameTimes.Code);
        Assert.Equal(2, fit.Parameter("tau_s")!.Value, 1e-9);
    }

    [Fact]
    public void All_points_at_one_time_are_too_few() =>
        HasNoFit(EnvelopeFitter.Fit(EnvelopeData.FromNumbers(new double[50], [.. Times(50)])), FindingKinds.TooFewPoints);

    [Fact]
    public void A_million_points_are_fitted()
    {
        const int count = 1_000_000;
        double[] times = [.. Enumerable.Range(0, count).Select(i => i * 1e-5)];
        EnvelopeData data = EnvelopeData.FromNumbers(times, [.. times.Select((t, i) => 40 * Math.Exp(-t / 2) + 0.1 * Math.Sin(2.4 * i))]);

        EnvelopeFit fit = EnvelopeFitter.Fit(data, new EnvelopeFitOptions { Model = "decay", CompareModels = false });

        Assert.Equal(count, fit.PointCount);
        Assert.Equal(2, fit.Parameter("tau_s")!.Value, 1e-3);
    }

    [Fact]
    public void Lists_of_different_length_are_a_caller_s_mistake() =>
        Assert.Throws<ArgumentException>(() => EnvelopeData.FromNumbers([0, 1], [1]));

    [Fact]
    public void A_window_that_ends_before_it_begins_is_a_caller_s_mistake() =>
        Assert.Throws<ArgumentException>(() =>
            EnvelopeFitter.Fit(Data(100, t => t), new EnvelopeFitOptions { WindowStartSeconds = 2, WindowEndSeconds = 1 }));

    [Fact]
    public void A_model_that_is_none_is_a_caller_s_mistake() =>
        Assert.Throws<ArgumentException>(() => EnvelopeFitter.Fit(Data(100, t => t), new EnvelopeFitOptions { Model = "linear" }));

    [Fact]
    public void Uncertainties_of_some_points_only_are_not_used_and_that_is_said()
    {
        double[] times = Times(200);
        EnvelopeFit fit = EnvelopeFitter.Fit(EnvelopeData.FromNumbers(
            times, [.. times.Select((t, i) => (40 * Math.Exp(-t / 2)) + (0.01 * (i % 3)))], [.. times.Select((_, i) => i % 9 == 0 ? double.NaN : 0.01)]));

        Assert.True(double.IsNaN(fit.CommonScatterMm));
        Assert.Contains(fit.Findings, finding => finding.Code == FindingKinds.UncertaintiesIncomplete.Code);
    }
}
