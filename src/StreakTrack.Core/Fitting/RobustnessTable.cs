using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Fitting;

/// <summary>The decay time under other choices of the analysis.</summary>
/// <param name="Rows">The analysis itself first, then one row a choice.</param>
/// <param name="Findings">Remarks, when the decay time depends on a choice by more than chance allows.</param>
public sealed record RobustnessTable(IReadOnlyList<RobustnessRow> Rows, IReadOnlyList<Finding> Findings);
