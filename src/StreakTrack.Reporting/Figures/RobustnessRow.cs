namespace StreakTrack.Reporting.Figures;

/// <summary>The decay time under one other choice.</summary>
/// <param name="Group">What was chosen otherwise: "window from", "estimate".</param>
/// <param name="Choice">The choice: "1.5 s", "threshold".</param>
/// <param name="TauSeconds">The decay time, in s.</param>
/// <param name="UncertaintySeconds">Its standard uncertainty, in s; NaN when unknown.</param>
public sealed record RobustnessRow(string Group, string Choice, double TauSeconds, double UncertaintySeconds);
