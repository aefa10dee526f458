namespace StreakTrack.Core.Fitting;

/// <summary>The decay time when one choice of the analysis is made differently.</summary>
/// <param name="Group">What is made differently.</param>
/// <param name="Label">How, in words and figures.</param>
/// <param name="Setting">The figure, such as the beginning of the window in s; NaN where the choice is no figure.</param>
/// <param name="TauSeconds">Decay time, in s; NaN when the fit did not converge.</param>
/// <param name="UncertaintySeconds">Its standard uncertainty, in s.</param>
/// <param name="DifferenceSeconds">Decay time minus that of the analysis itself, in s.</param>
/// <param name="DifferenceRatio">
/// The difference over its standard deviation when the model is right and the points used are a part of those of the analysis: the root
/// of the difference of the squared uncertainties (Hausman, Econometrica 46 (1978) 1251, from memory), or the uncertainty of the row
/// where that has no root. NaN for other choices.
/// </param>
/// <param name="PointCount">Points used.</param>
public sealed record RobustnessRow(
    RobustnessGroup Group, string Label, double Setting, double TauSeconds, double UncertaintySeconds, double DifferenceSeconds,
    double DifferenceRatio, int PointCount);
