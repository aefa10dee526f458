using StreakTrack.Core.Records;
using StreakTrack.Reporting.Figures;

namespace StreakTrack.Reporting.Pages;

/// <summary>The report of an analysis as one page that needs nothing beside it.</summary>
internal static class ReportPage
{
    /// <summary>The page.</summary>
    /// <param name="content">What to report.</param>
    /// <param name="figures">The figures, by name.</param>
    public static string Write(ReportContent content, IReadOnlyDictionary<string, Figure> figures)
    {
        AnalysisRecord record = content.Record;
        var numbering = new FigureNumbering(figures);
        return PageFrame.Write(
            TitleOf(record),
            record.Clip?.File ?? record.SeriesFile?.File ?? "",
            $"Made by {record.Program.Name} {record.Program.Version}. The files {ReportFolder.RecordFile}, {ReportFolder.SeriesFile} and "
                + $"{ReportFolder.PackageFile} beside this page hold the same results for other programs.",
            ResultSection.Write(record),
            ResultSection.Figures(numbering),
            FitSection.Write(record),
            SweepSection.Write(record, numbering),
            RobustnessSection.Write(record, numbering),
            BudgetSection.Write(record),
            MeasurementSection.Source(record),
            MeasurementSection.Ruler(record, numbering),
            MeasurementSection.Streak(record, numbering),
            ContactSection.Write(content),
            FindingsSection.Write(record.Result.Findings),
            MethodSection.Write(record),
            SafetySection.Write(record));
    }

    private static string TitleOf(AnalysisRecord record) => record.Result.Fit is null
        ? (record.Result.Sweep is null ? "Amplitude of a laser streak" : "Resonance of an oscillator")
        : Wording.Model(record.Result.Fit.Model).Kind switch
        {
            "decay" => "Decay of an oscillation",
            "rise" => "Rise of an oscillation",
            "transient" => "Transient of an oscillation",
            _ => "Amplitude of an oscillation",
        };
}
