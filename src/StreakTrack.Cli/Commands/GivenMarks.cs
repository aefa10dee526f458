using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Analysis;

namespace StreakTrack.Cli.Commands;

/// <summary>The marks of a command that takes them from a file, or from the record that it repeats.</summary>
internal static class GivenMarks
{
    /// <summary>The marks.</summary>
    /// <param name="file">The file of <c>--marks</c>, which wins; null where it is not given.</param>
    /// <param name="earlier">The record of <c>--record</c>; null where it is not given.</param>
    /// <exception cref="UsageException">Neither is given.</exception>
    public static IReadOnlyList<RulerMark> Of(FileInfo? file, AnalysisRecord? earlier) =>
        file is not null ? MarksCsv.Read(file.FullName)
        : earlier is not null ? ClipAnalyzer.MarksOf(earlier.Marks)
        : throw new UsageException("Option '--marks' is required, unless '--record' brings the marks.");
}
