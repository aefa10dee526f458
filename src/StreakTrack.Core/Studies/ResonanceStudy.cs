using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Studies;

/// <summary>Result of a resonance study.</summary>
/// <param name="Points">The points, in the order of frequency.</param>
/// <param name="Fit">The fit that the results are taken from.</param>
/// <param name="OtherFit">The other amplitude shape, for comparison; null when it was not fitted.</param>
/// <param name="Statement">One sentence on what was found.</param>
/// <param name="Comparison">Q from the width beside Q from the decay; null without a decay time.</param>
/// <param name="Findings">Doubts, the most severe first.</param>
public sealed record ResonanceStudy(
    IReadOnlyList<ResonancePoint> Points, ResonanceFit Fit, ResonanceFit? OtherFit, string Statement, QComparison? Comparison,
    IReadOnlyList<Finding> Findings);
