using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Studies;

/// <summary>Result of a damping study.</summary>
public sealed record DampingStudy
{
    /// <summary>Name of the setting, with its unit as in the table.</summary>
    public required string SettingName { get; init; }

    /// <summary>The runs as given.</summary>
    public required IReadOnlyList<DampingRun> Runs { get; init; }

    /// <summary>The settings in ascending order.</summary>
    public required IReadOnlyList<DampingSetting> Settings { get; init; }

    /// <summary>
    /// Standard deviation of the rate between runs at one setting beyond what the decays' own uncertainties explain, in 1/s; NaN when no
    /// setting was repeated.
    /// </summary>
    public required double BetweenRunDeviationPerS { get; init; }

    /// <summary>
    /// Probability of so large a scatter between runs if the decays' uncertainties were all there is; NaN without uncertainties or
    /// repeats.
    /// </summary>
    public required double BetweenRunProbability { get; init; }

    /// <summary>The curves tried, the best first; empty with fewer than three settings.</summary>
    public required IReadOnlyList<DampingTrend> Trends { get; init; }

    /// <summary>One sentence on what was found.</summary>
    public required string Statement { get; init; }

    /// <summary>Doubts, the most severe first.</summary>
    public required IReadOnlyList<Finding> Findings { get; init; }
}
