using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Studies;

/// <summary>Settings of a straight-line fit.</summary>
public sealed record StraightLineOptions
{
    /// <summary>Whether the points' uncertainties are taken at their word. Default <see cref="UncertaintyScaling.Auto"/>.</summary>
    public UncertaintyScaling Scaling { get; init; } = UncertaintyScaling.Auto;

    /// <summary>Whether the line is held on the origin. Default false.</summary>
    public bool ThroughOrigin { get; init; }
}
