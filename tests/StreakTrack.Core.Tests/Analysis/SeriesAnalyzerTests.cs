using StreakTrack.Core.Analysis;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;

namespace StreakTrack.Core.Tests.Analysis;

/// <summary>Series made from a known decay, 40 mm, tau 2 s, switched at 1 s, with seeded noise of 0.02 mm.</summary>
public class SeriesAnalyzerTests
{
    private const double TauSeconds = 2, SwitchSeconds = 1;

    [Fact]
    public void Without_an_offset_the_parameters_are_those_of_the_fit()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0), new AnalysisOptions());

        Assert.Equal(analysis.Fit.Parameters, analysis.Parameters);
        Assert.Equal(TauSeconds, Tau(analysis).Value, 0.005);
    }

    [Fact]
    public void A_common_offset_widens_the_uncertainty_of_tau_by_what_a_shifted_series_shows()
    {
        const double offsetMm = 0.1;
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0), new AnalysisOptions { Model = "decay" }, offsetMm);

        // The sensitivity, found from outside: the same series 0.1 mm longer and shorter.
        double up = Tau(SeriesAnalyzer.Analyze(Decay(+offsetMm), new AnalysisOptions { Model = "decay" })).Value;
        double down = Tau(SeriesAnalyzer.Analyze(Decay(-offsetMm), new AnalysisOptions { Model = "decay" })).Value;
        double scatter = analysis.Fit.Parameter(EnvelopeParameters.Tau)!.StandardUncertainty;
        double expected = Math.Sqrt((scatter * scatter) + ((up - down) * (up - down) / 4));

        // 3 %: the shifted fits weight their points a little differently, because they misfit and their scatter is enlarged for it.
        Assert.Equal(expected, Tau(analysis).StandardUncertainty, 0.03 * expected);
        Assert.True(Tau(analysis).StandardUncertainty > 3 * scatter);
        Assert.True(Tau(analysis).Lower95 < analysis.Fit.Parameter(EnvelopeParameters.Tau)!.Lower95);
    }

    [Fact]
    public void A_floor_within_the_offset_is_no_evidence_against_a_single_exponential()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0.1), new AnalysisOptions(), lengthOffsetUncertaintyMm: 0.07);

        Assert.Equal("decay", analysis.Fit.ModelName);
        Assert.Contains("may be off by", analysis.Fit.Statement, StringComparison.Ordinal);
        Assert.InRange(TauSeconds, Tau(analysis).Lower95, Tau(analysis).Upper95);
    }

    [Fact]
    public void A_floor_far_beyond_the_offset_is_reported()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 1.6), new AnalysisOptions(), lengthOffsetUncertaintyMm: 0.07);

        Assert.Equal("decay-floor", analysis.Fit.ModelName);
        Assert.Equal(TauSeconds, Tau(analysis).Value, 0.01);
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(-0.1)]
    [InlineData(double.PositiveInfinity)]
    public void An_offset_uncertainty_that_is_none_is_refused(double offsetMm) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => SeriesAnalyzer.Analyze(Decay(0), new AnalysisOptions(), offsetMm));

    [Fact]
    public void The_budget_adds_up_to_the_stated_uncertainty_of_tau()
    {
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(Decay(floorMm: 0), new AnalysisOptions { FrequencyHz = 35 }, 0.07);

        Assert.Equal(["tau", "Q"], analysis.Budgets.Select(b => b.Quantity));

        // The budget also holds the camera's clock, 1e-4/sqrt(3) of tau: next to nothing here.
        Assert.Equal(Tau(analysis).StandardUncertainty, analysis.Budgets[0].CombinedStandardUncertainty, 0.01 * Tau(analysis).StandardUncertainty);
        Assert.NotNull(analysis.Robustness);
        Assert.Equal(Math.PI * 35 * Tau(analysis).Value, analysis.Quantities!.QualityFactor!.Value.Value, 1e-9);
    }

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
