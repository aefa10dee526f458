using StreakTrack.Core.Findings;
using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Ruler;

/// <summary>What the search for ticks gave.</summary>
/// <param name="Found">Whether ticks were found; if not, the scale is that of the marks alone.</param>
/// <param name="Scale">The scale: from the ticks where they were found, else from the marks as handed in.</param>
/// <param name="Marks">The marks the scale was made from: ticks with their uncertainties, or the marks as handed in.</param>
/// <param name="StepMm">Spacing of the ticks found, in mm; NaN when none were.</param>
/// <param name="ClickDeviationsPx">For each mark handed in, its place along the axis minus the place of its reading on the scale from the ticks, in
/// px; empty when no ticks were found.</param>
/// <param name="Findings">Remarks on the search, besides those of the scale.</param>
public sealed record TickSearch(
    bool Found,
    RulerScale Scale,
    IReadOnlyList<RulerMark> Marks,
    double StepMm,
    IReadOnlyList<double> ClickDeviationsPx,
    IReadOnlyList<Finding> Findings);
