namespace StreakTrack.Core.Uncertainty;

/// <summary>Settings of a propagation of distributions.</summary>
public sealed record MonteCarloOptions
{
    /// <summary>Seed of the random numbers: the same seed gives the same result. Default 1.</summary>
    public int Seed { get; init; } = 1;

    /// <summary>
    /// Number of trials, at least 1000; null for the adaptive procedure of JCGM 101:2008, 7.9, which goes on until the results have
    /// settled.
    /// Default null.
    /// </summary>
    public int? Trials { get; init; }

    /// <summary>Most trials of the adaptive procedure, at least 20 000. Default 2 000 000 (16 MB).</summary>
    public int MaxTrials { get; init; } = 2_000_000;

    /// <summary>Significant digits of the standard uncertainty that must have settled, 1 or 2. Default 2.</summary>
    public int SignificantDigits { get; init; } = 2;

    /// <summary>Coverage probability of the intervals, above 0 and below 1. Default 0.95.</summary>
    public double CoverageProbability { get; init; } = UncertaintyBudget.DefaultCoverageProbability;
}
