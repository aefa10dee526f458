using StreakTrack.Core.Findings;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>Result of a stiffness study: the square of the resonance frequency against the coil current.</summary>
/// <remarks>
/// For a body of moment of inertia J on a wire of torsion constant k_w, with a coil that adds k_c per ampere,
/// <c>(2 pi f0)² J = k_w + k_c I</c>: a straight line in f0² and I.
/// </remarks>
public sealed record StiffnessStudy
{
    /// <summary>The points as given.</summary>
    public required IReadOnlyList<StiffnessPoint> Points { get; init; }

    /// <summary>The line: f0² in Hz² against the current in A.</summary>
    public required StraightLine Line { get; init; }

    /// <summary>Frequency without current, in Hz: the root of the intercept; NaN when that is negative.</summary>
    public required UncertainValue FrequencyAtZeroCurrentHz { get; init; }

    /// <summary>Stiffness that an ampere adds, over that of the wire, in 1/A: slope over intercept.</summary>
    public required UncertainValue StiffnessRatioPerA { get; init; }

    /// <summary>Current at which the restoring torque vanishes, in A, where the line crosses zero.</summary>
    public required UncertainValue ZeroStiffnessCurrentA { get; init; }

    /// <summary>The 95 % interval of <see cref="ZeroStiffnessCurrentA"/>; infinite when the current's effect is not
    /// established.</summary>
    public required CoverageInterval ZeroStiffnessInterval95 { get; init; }

    /// <summary>Torsion constant of the wire, in N m/rad; null without a moment of inertia.</summary>
    public UncertainValue? WireStiffnessNmPerRad { get; init; }

    /// <summary>Torsion constant that an ampere adds, in N m/(rad A); null without a moment of inertia.</summary>
    public UncertainValue? CoilStiffnessNmPerRadA { get; init; }

    /// <summary>One sentence on what was found.</summary>
    public required string Statement { get; init; }

    /// <summary>Doubts, the most severe first.</summary>
    public required IReadOnlyList<Finding> Findings { get; init; }
}
