using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Studies;

/// <summary>Result of the study of a stepped sweep.</summary>
/// <param name="Fit">The fit that the results are taken from.</param>
/// <param name="OtherFit">The fit with the other shape of the response, for comparison; null when it did not converge.</param>
/// <param name="Plateaus">What the oscillator settles at in each step, whatever the shape of the response.</param>
/// <param name="Statement">What was found, in plain sentences.</param>
/// <param name="Findings">Doubts, the most severe first.</param>
public sealed record SteppedSweepStudy(
    SweepFit Fit, SweepFit? OtherFit, IReadOnlyList<SweepPlateau> Plateaus, string Statement, IReadOnlyList<Finding> Findings);
