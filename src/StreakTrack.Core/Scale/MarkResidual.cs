namespace StreakTrack.Core.Scale;

/// <summary>How one mark agrees with the fitted scale.</summary>
/// <param name="Number">Number of the mark, counted from 1 in the order handed in.</param>
/// <param name="Mark">The mark.</param>
/// <param name="ResidualPx">The mark's place along the axis minus the place where the scale has its reading, in px.</param>
/// <param name="ResidualMm">The scale's reading at the mark's place minus the mark's reading, in mm.</param>
/// <param name="OffAxisPx">Distance from the axis, in px; positive where v grows for an axis that runs to the right.</param>
/// <param name="StudentisedResidual">Leave-one-out residual over its standard deviation: the mark's place against the scale of all other marks;
/// NaN when there are fewer than three marks.</param>
/// <param name="PredictedReadingMm">What the scale of all other marks reads at this mark's place, in mm; NaN with fewer than three marks.</param>
/// <param name="Doubtful">Whether the mark disagrees with the others more than chance allows.</param>
public sealed record MarkResidual(
    int Number,
    RulerMark Mark,
    double ResidualPx,
    double ResidualMm,
    double OffAxisPx,
    double StudentisedResidual,
    double PredictedReadingMm,
    bool Doubtful);
