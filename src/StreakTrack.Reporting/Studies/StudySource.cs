using StreakTrack.Core.Records;

namespace StreakTrack.Reporting.Studies;

/// <summary>Where the points of a study come from, and what evaluated them.</summary>
/// <param name="TableFile">Name of the table's file, without its folder.</param>
/// <param name="TableSha256">SHA-256 of that file, lower-case hexadecimal.</param>
/// <param name="Program">The program.</param>
public sealed record StudySource(string TableFile, string TableSha256, ProgramRecord Program);
