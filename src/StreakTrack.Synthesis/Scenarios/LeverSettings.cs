namespace StreakTrack.Synthesis.Scenarios;

/// <summary>The optical lever: a ruler square to the resting beam.</summary>
public sealed record LeverSettings
{
    /// <summary>Distance from mirror to ruler, in mm, 10 to 100 000. Default 1100.</summary>
    public double DistanceMm { get; init => field = Guard.Between(value, 10, 100_000); } = 1100;

    /// <summary>Ruler reading at which the resting spot lies, in mm, -10 000 to 10 000. Default 150.</summary>
    public double RestReadingMm { get; init => field = Guard.Between(value, -10_000, 10_000); } = 150;
}
