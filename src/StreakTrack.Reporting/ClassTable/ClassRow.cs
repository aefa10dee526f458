using StreakTrack.Core.Submissions;

namespace StreakTrack.Reporting.ClassTable;

/// <summary>A row of the table of a class.</summary>
/// <param name="Judgement">What was found out about the submission.</param>
/// <param name="Report">Path of its report beside the table; null when there is none.</param>
/// <param name="Alike">Submissions that hold the same clip or a copy of it, as hints.</param>
public sealed record ClassRow(Judgement Judgement, string? Report, IReadOnlyList<string> Alike);
