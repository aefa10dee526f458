namespace StreakTrack.Core.Records;

/// <summary>The decay time when one choice of the analysis is made differently.</summary>
/// <param name="Group">What is made differently: analysis (nothing), window-start, window-end, estimate, weighting, loss or model.</param>
/// <param name="Label">How, in words and figures.</param>
/// <param name="Setting">The figure, such as the beginning of the window in s; null where the choice is no figure.</param>
/// <param name="TauS">Decay time, in s; null when there was no fit.</param>
/// <param name="TauUncertaintyS">Its standard uncertainty from the scatter of the points, in s.</param>
/// <param name="DifferenceS">Decay time minus that of the analysis itself, in s.</param>
/// <param name="DifferenceRatio">The difference over the standard deviation that chance allows it, where the points used are a part of those of
/// the analysis; null for other choices.</param>
/// <param name="Points">Points used.</param>
public sealed record RobustnessRecord(
    string Group, string Label, double? Setting, double? TauS, double? TauUncertaintyS, double? DifferenceS, double? DifferenceRatio,
    int Points);
