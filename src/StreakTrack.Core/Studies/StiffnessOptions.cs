using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Studies;

/// <summary>Settings of a stiffness study.</summary>
public sealed record StiffnessOptions
{
    /// <summary>Whether the points' uncertainties are taken at their word. Default <see cref="UncertaintyScaling.Auto"/>.</summary>
    public UncertaintyScaling Scaling { get; init; } = UncertaintyScaling.Auto;

    /// <summary>Moment of inertia of the oscillating body, in kg m², positive; null when not known. Turns frequencies into
    /// stiffnesses.</summary>
    public UncertainValue? MomentOfInertiaKgM2 { get; init; }
}
