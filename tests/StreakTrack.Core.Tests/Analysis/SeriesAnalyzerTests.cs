using StreakTrack.Core.Analysis;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Tests.Analysis;

/// <summary>Series made from a known decay, 40 mm, tau 2 s, switched at 1 s, with seeded noise of 0.02 mm.</summary>
public class SeriesAnalyzerTests
{
    private const double TauSeconds = 2, SwitchSeconds = 1;

    [Fact]
    public void Without_an_offset_the_parameters_are_those_of_the_fit()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0), new AnalysisOptions { Model = "decay" });

        Assert.Equal(analysis.Fit.Parameters, analysis.Parameters);
        Assert.Equal(TauSeconds, Tau(analysis).Value, 0.005);
    }

    [Fact]
    public void A_common_offset_widens_the_uncertainty_of_tau_by_what_a_shifted_series_shows()
    {
        const double offsetMm = 0.1;
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0), new AnalysisOptions { Model = "decay" }, Offset(offsetMm));

        // The sensitivity, found from outside: the same series 0.1 mm longer and shorter, and bowed by 0.8 of that in the middle of its range.
        double constant = HalfDifference(_ => offsetMm), bowed = HalfDifference(a => 4 * 0.8 * offsetMm * (a / 40) * (1 - (a / 40)));
        double scatter = analysis.Fit.Parameter(EnvelopeParameters.Tau)!.StandardUncertainty;
        double expected = Math.Sqrt((scatter * scatter) + (constant * constant) + (bowed * bowed));

        // 3 %: the shifted fits weight their points a little differently, because they misfit and their scatter is enlarged for it.
        Assert.Equal(expected, Tau(analysis).StandardUncertainty, 0.03 * expected);
        Assert.True(Tau(analysis).StandardUncertainty > 3 * scatter);
        Assert.True(Tau(analysis).Lower95 < analysis.Fit.Parameter(EnvelopeParameters.Tau)!.Lower95);

        static double HalfDifference(Func<double, double> error) => (TauWith(error) - TauWith(a => -error(a))) / 2;

        static double TauWith(Func<double, double> error) => Tau(SeriesAnalyzer.Analyze(
            new AmplitudeSeries(Decay(0).Select(sample => sample with { AmplitudeMm = sample.AmplitudeMm + error(sample.AmplitudeMm) })),
            new AnalysisOptions { Model = "decay" })).Value;
    }

    [Fact]
    public void A_floor_within_the_offset_is_no_evidence_against_a_single_exponential()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0.1), new AnalysisOptions(), Offset(0.07));

        Assert.Equal("decay", analysis.Fit.ModelName);
        Assert.Contains("may be off by", analysis.Fit.Statement, StringComparison.Ordinal);
        Assert.InRange(TauSeconds, Tau(analysis).Lower95, Tau(analysis).Upper95);
    }

    [Fact]
    public void A_floor_far_beyond_the_offset_is_reported()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 1.6), new AnalysisOptions(), Offset(0.07));

        Assert.Equal("decay-floor", analysis.Fit.ModelName);
        Assert.Equal(TauSeconds, Tau(analysis).Value, 0.01);
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(-0.1)]
    [InlineData(double.PositiveInfinity)]
    public void An_offset_uncertainty_that_is_none_is_refused(double offsetMm) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => SeriesAnalyzer.Analyze(Decay(0), new AnalysisOptions(), Offset(offsetMm)));

    [Fact]
    public void The_budget_adds_up_to_the_stated_uncertainty_of_tau()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0), new AnalysisOptions { FrequencyHz = 35 }, Offset(0.07));

        Assert.Equal(["tau", "Q"], analysis.Budgets.Select(b => b.Quantity));

        // The budget also holds the camera's clock, 1e-4/sqrt(3) of tau: next to nothing here.
        Assert.Equal(Tau(analysis).StandardUncertainty, analysis.Budgets[0].CombinedStandardUncertainty, 0.01 * Tau(analysis).StandardUncertainty);
        Assert.NotNull(analysis.Robustness);
        Assert.Equal(Math.PI * 35 * Tau(analysis).Value, analysis.Quantities!.QualityFactor!.Value.Value, 1e-9);
    }

    [Fact]
    public void The_amplitude_at_the_mirror_has_a_budget_of_its_own()
    {
        var lengths = new LengthAccuracy { ScaleRelativeUncertainty = 1e-3, ScaleDegreesOfFreedom = 6, RulerClass = RulerAccuracyClass.II };
        SeriesAnalysis analysis = SeriesAnalyzer.Fit(
            Decay(floorMm: 0), new AnalysisOptions { DistanceMm = 1000, DistanceUncertaintyMm = 4 }, lengths);

        UncertaintyBudget budget = analysis.Budgets.Single(b => b.Unit == "mrad");

        // tan(2 theta) = 40/1000; by hand the relative parts of distance, scale and ruler (0.5 mm in 80 mm, rectangular) for a small angle,
        // and next to nothing from the fit.
        double expected = 500 * Math.Atan(Amplitude(analysis).Value / 1000);
        double relative = Math.Sqrt(Math.Pow(4e-3, 2) + Math.Pow(1e-3, 2) + (Math.Pow(0.5 / 80, 2) / 3));
        Assert.Equal(expected, budget.Estimate, 1e-9);
        Assert.Equal(relative, budget.CombinedStandardUncertainty / budget.Estimate, 0.01 * relative);

        // Scatter, offset and switch make up the amplitude's own uncertainty, each once.
        SeriesAnalysis shifted = SeriesAnalyzer.Fit(
            Decay(floorMm: 0), new AnalysisOptions { DistanceMm = 1000, SwitchTimeS = 0, SwitchTimeUncertaintyS = 0.01 }, lengths with { OffsetUncertaintyMm = 0.2 });
        double[] parts =
        [
            .. shifted.Budgets.Single(b => b.Unit == "mrad").Components
                .Where(c => c.Input.Name is "amplitude on the ruler" or "offset common to all lengths" or "time of the switch").Select(c => c.Input.StandardUncertainty),
        ];
        Assert.Equal(3, parts.Length);
        Assert.Equal(Amplitude(shifted).StandardUncertainty, Math.Sqrt(parts.Sum(u => u * u)), 1e-12);
    }

    [Fact]
    public void A_switch_time_that_is_known_and_uncertain_widens_the_amplitude_at_the_switch_and_not_tau()
    {
        var options = new AnalysisOptions { Model = "decay", SwitchTimeS = SwitchSeconds, SwitchTimeUncertaintyS = 0.02, WindowStartS = 1.1 };
        SeriesAnalysis analysis = SeriesAnalyzer.Fit(Decay(floorMm: 0), options);
        FitParameter amplitude = analysis.Parameters.Single(p => p.Name == EnvelopeParameters.Amplitude0);

        // A0 = A(t) exp((t - t0)/tau): dA0/dt0 = -A0/tau, and tau follows from later points alone.
        Assert.Equal(0.02 * amplitude.Value / TauSeconds, amplitude.SwitchTimeUncertainty, 0.01 * amplitude.SwitchTimeUncertainty);
        Assert.Equal(0, Tau(analysis).SwitchTimeUncertainty, 1e-9);
        Assert.Equal(0.02, analysis.Parameters[^1].StandardUncertainty, 1e-12);
    }

    [Fact]
    public void A_switch_time_that_is_found_carries_the_change_point_s_uncertainty()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Fit(Decay(floorMm: 0), new AnalysisOptions { Model = "decay", SwitchTimeSource = "found" });
        FitParameter t0 = analysis.Parameters[^1];

        Assert.True(t0.IsHeld);
        Assert.InRange(t0.StandardUncertainty, 0.005, 0.05);
        Assert.InRange(SwitchSeconds, t0.Lower95, t0.Upper95);
        Assert.True(Tau(analysis).SwitchTimeUncertainty > 0);
        Assert.InRange(TauSeconds, Tau(analysis).Lower95, Tau(analysis).Upper95);
    }

    [Fact]
    public void Monte_Carlo_and_bootstrap_run_when_they_are_asked_for_and_repeat_with_their_seed()
    {
        var options = new AnalysisOptions { Model = "decay", FrequencyHz = 35, BootstrapReplicates = 40, MonteCarloTrials = 5000, Seed = 7 };

        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0), options, Offset(0.05));
        SeriesAnalysis again = SeriesAnalyzer.Analyze(Decay(floorMm: 0), options, Offset(0.05));

        Assert.Equal(analysis.Budgets.Select(b => b.Quantity), analysis.MonteCarlo.Select(m => m.Quantity));
        Assert.All(analysis.Budgets.Zip(analysis.MonteCarlo), pair =>
            Assert.Equal(pair.First.CombinedStandardUncertainty, pair.Second.StandardUncertainty, 0.05 * pair.First.CombinedStandardUncertainty));
        Assert.Equal(40, analysis.Bootstrap!.Replicates);
        Assert.Equal(7, analysis.Bootstrap.Seed);
        Assert.Equal(analysis.Bootstrap.StandardUncertainties, again.Bootstrap!.StandardUncertainties);
        Assert.Equal(analysis.MonteCarlo.Select(m => m.StandardUncertainty), again.MonteCarlo.Select(m => m.StandardUncertainty));
    }

    [Fact]
    public void Tau_reaches_over_the_models_that_the_points_do_not_exclude_and_nothing_else_does()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Fit(Decay(floorMm: 0), new AnalysisOptions());
        FitParameter tau = Tau(analysis), bare = analysis.Fit.Parameter(EnvelopeParameters.Tau)!;
        int n = analysis.Fit.PointCount;
        Assert.Equal("decay", analysis.Fit.ModelName);

        // By hand from the table of rivals: twice the log likelihood with a cost of 1 a parameter instead of Akaike's 2, and intervals that
        // are short enough to be parabolic: 5 % of the reach allows for what they are not.
        double Costed(RivalModel r) => r.Aicc - ((r.ParameterCount + 1.0) * n / (n - r.ParameterCount - 2));
        double best = analysis.Fit.Rivals.Min(Costed), t = CoverageFactor.TwoSided(0.95, analysis.Fit.EffectiveDegreesOfFreedom);
        (double Low, double High)[] ends =
        [
            .. analysis.Fit.Rivals.Where(r => !r.IsAtBound && Costed(r) - best < t * t)
                .Select(r => (r.TauSeconds, Reach: Math.Sqrt((t * t) - Costed(r) + best) * r.TauUncertaintySeconds))
                .Select(r => (r.TauSeconds - r.Reach, r.TauSeconds + r.Reach)),
        ];
        double lower = ends.Min(e => e.Low), upper = ends.Max(e => e.High);
        Assert.True(ends.Length > 1);
        Assert.Equal(lower, tau.Lower95, 0.05 * (upper - lower));
        Assert.Equal(upper, tau.Upper95, 0.05 * (upper - lower));
        Assert.True(tau.Lower95 <= bare.Lower95 && tau.Upper95 >= bare.Upper95);
        Assert.Equal(Math.Max(tau.Value - tau.Lower95, tau.Upper95 - tau.Value), t * tau.StandardUncertainty, 0.01 * (upper - lower));
        Assert.Equal(
            analysis.Fit.Parameter(EnvelopeParameters.Amplitude0)!.StandardUncertainty,
            analysis.Parameters.Single(p => p.Name == EnvelopeParameters.Amplitude0).StandardUncertainty);
        Assert.Contains(analysis.Budgets[0].Components, c => c.Input.Name == "choice of the model");
    }

    [Fact]
    public void A_named_model_is_taken_for_known()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Fit(Decay(floorMm: 0), new AnalysisOptions { Model = "decay" });

        Assert.Equal(analysis.Fit.Parameter(EnvelopeParameters.Tau), Tau(analysis));
    }

    [Theory]
    [InlineData("loud", "fitted")]
    [InlineData("auto", "guessed")]
    public void A_setting_that_there_is_none_of_is_refused(string loss, string source) =>
        Assert.Throws<UnusableInputException>(
            () => SeriesAnalyzer.Fit(Decay(0), new AnalysisOptions { Loss = loss, SwitchTimeSource = source }));

    private static FitParameter Amplitude(SeriesAnalysis analysis) =>
        analysis.Parameters.Single(p => p.Name == EnvelopeParameters.Amplitude0);

    private static LengthAccuracy Offset(double offsetMm) => new() { OffsetUncertaintyMm = offsetMm };

    private static FitParameter Tau(SeriesAnalysis analysis) => analysis.Parameters.Single(p => p.Name == EnvelopeParameters.Tau);

    private static AmplitudeSeries Decay(double floorMm)
    {
        var random = new Random(20_419);
        return new AmplitudeSeries(Enumerable.Range(0, 240).Select(frame =>
        {
            double time = frame / 30.0;
            double noise = 0.02 * Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
            return new AmplitudeSample
            {
                Frame = frame,
                TimeSeconds = time,
                AmplitudeMm = (40 * Math.Exp(-Math.Max(0, time - SwitchSeconds) / TauSeconds)) + floorMm + noise,
                AmplitudeUncertaintyMm = 0.02,
            };
        }));
    }
}
