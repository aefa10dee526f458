using StreakTrack.Imaging.Analysis;
using StreakTrack.Reporting;

namespace StreakTrack.Cli.Commands;

/// <summary>Hands an analysis to the report: where Imaging's results meet Reporting, which know nothing of each other.</summary>
internal static class AnalysisReport
{
    /// <summary>Writes the report folder of an analysis.</summary>
    public static void Write(ClipAnalysis analysis, string folder) =>
        ReportFolder.Write(
            new ReportContent { Record = analysis.Record, Series = analysis.Series, Fit = analysis.SeriesAnalysis.Fit }, folder);
}
