using StreakTrack.Core;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Reporting;
using StreakTrack.Reporting.Contact;

namespace StreakTrack.Cli.Commands;

/// <summary>What all commands that end with a report have in common.</summary>
internal static class AnalysisReport
{
    /// <summary>Writes the report folder of an analysis.</summary>
    public static void Write(
        AnalysisRecord record, AmplitudeSeries series, SeriesAnalysis analysis, IReadOnlyList<ContactPicture> pictures, string folder) =>
        ReportFolder.Write(ReportContent.Of(record, series, analysis, pictures), folder);

    /// <summary>The frames of a clip's contact sheet.</summary>
    public static IReadOnlyList<ContactPicture> PicturesOf(ClipAnalysis analysis) =>
        [.. analysis.Measurement.Pictures.Select(p => new ContactPicture(
            analysis.Measurement.Readings[p.Frame], p.Picture, p.DisplayToPicture))];

    /// <summary>Done when there is a fit or a sweep; otherwise the input could not be used, for the reason that the worst finding gives.</summary>
    /// <param name="record">The analysis.</param>
    /// <param name="inputName">What to call the input in the message.</param>
    /// <exception cref="UnusableInputException">There is neither a fit nor a sweep.</exception>
    public static int ExitCodeOf(AnalysisRecord record, string inputName)
    {
        if (record.Result.Fit is not null || record.Result.Sweep is not null)
            return ExitCode.Done;
        Finding? reason = record.Result.Findings.FirstOrDefault(f => f.Severity == FindingSeverity.Error);
        throw new UnusableInputException(inputName,
            reason?.Message.TrimEnd('.') ?? "no envelope could be fitted", reason?.Advice ?? "See the findings in the report.");
    }
}
