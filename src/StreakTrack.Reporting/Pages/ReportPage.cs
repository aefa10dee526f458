using System.Xml.Linq;
using StreakTrack.Core.Records;
using StreakTrack.Reporting.Figures;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>The report as one page that needs nothing beside it.</summary>
internal static class ReportPage
{
    /// <summary>Nothing may be loaded or run, whatever a file name or a message contains.</summary>
    private const string ContentPolicy = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";

    /// <summary>The page.</summary>
    /// <param name="content">What to report.</param>
    /// <param name="figures">The figures, by name.</param>
    public static string Write(ReportContent content, IReadOnlyDictionary<string, Figure> figures)
    {
        AnalysisRecord record = content.Record;
        string title = TitleOf(record);
        string subject = record.Clip?.File ?? record.SeriesFile?.File ?? "";
        var numbering = new FigureNumbering(figures);
        XElement page = El("html", null, new XAttribute("lang", "en"),
            El("head", null,
                El("meta", null, new XAttribute("charset", "utf-8")),
                El("meta", null, new XAttribute("name", "viewport"), new XAttribute("content", "width=device-width, initial-scale=1")),
                El("meta", null, new XAttribute("http-equiv", "Content-Security-Policy"), new XAttribute("content", ContentPolicy)),
                El("title", null, subject.Length == 0 ? title : $"{title}: {subject}"),
                El("style", null, StyleSheet.Text)),
            El("body", null,
                El("header", "title", El("h1", null, title), P(subject)),
                El("main", null,
                    ResultSection.Write(record),
                    ResultSection.Figures(numbering),
                    FitSection.Write(record),
                    FitSection.Robustness(content, numbering),
                    FitSection.Budgets(content),
                    MeasurementSection.Source(record),
                    MeasurementSection.Ruler(record, numbering),
                    MeasurementSection.Streak(record, numbering),
                    ContactSection.Write(content),
                    FindingsSection.Write(record.Result.Findings),
                    MethodSection.Write(record),
                    SafetySection.Write(record)),
                El("footer", null, P($"Made by {record.Program.Name} {record.Program.Version}. ",
                    "The files record.json, series.csv and datapackage.json beside this page hold the same results for other programs."))));
        return HtmlText.Page(page);
    }

    private static string TitleOf(AnalysisRecord record) => record.Result.Fit is null
        ? "Amplitude of a laser streak"
        : Wording.Model(record.Result.Fit.Model).Kind switch
        {
            "decay" => "Decay of an oscillation",
            "rise" => "Rise of an oscillation",
            "transient" => "Transient of an oscillation",
            _ => "Amplitude of an oscillation",
        };
}
