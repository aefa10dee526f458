using BenchmarkDotNet.Attributes;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;

namespace StreakTrack.Benchmarks;

/// <summary>From a series of 600 points to its results, as the command does it.</summary>
public class FitBenchmarks
{
    private AmplitudeSeries _series = null!;

    /// <summary>Makes the series; everything is drawn from a fixed seed.</summary>
    [GlobalSetup]
    public void Prepare()
    {
        var random = new Random(1);
        _series = new AmplitudeSeries(Enumerable.Range(0, 600).Select(k => new AmplitudeSample
        {
            Frame = k, TimeSeconds = k / 60.0, AmplitudeMm = (45 * Math.Exp(-k / 60.0 / 2.1)) + (0.05 * Normal()), AmplitudeUncertaintyMm = 0.05,
        }));

        double Normal() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
    }

    /// <summary>All models fitted and compared, profile intervals, tau over the models, budgets, quantities.</summary>
    [Benchmark(Description = "series to results: all models, intervals, budgets")]
    public int ModelsComparedAndIntervals() => SeriesAnalyzer.Fit(_series, new AnalysisOptions { FrequencyHz = 36 }).Budgets.Count;

    /// <summary>The same with the robustness table and a block bootstrap of 400 series.</summary>
    [Benchmark(Description = "the same with robustness table and bootstrap of 400")]
    public int WithRobustnessAndBootstrap() =>
        SeriesAnalyzer.Analyze(_series, new AnalysisOptions { FrequencyHz = 36, BootstrapReplicates = 400 }).Robustness!.Rows.Count;
}
