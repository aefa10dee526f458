using StreakTrack.Core;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Pages;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Studies;

/// <summary>The report of a study as one page that needs nothing beside it.</summary>
internal static class StudyPage
{
    /// <summary>The page.</summary>
    /// <param name="report">What to report.</param>
    /// <param name="figures">Its figures, in the order of the plots.</param>
    public static string Write(StudyReport report, IReadOnlyList<Figure> figures)
    {
        var numbering = new FigureNumbering(figures.ToDictionary(f => f.Name));
        return PageFrame.Write(
            report.Title,
            report.Source.TableFile,
            $"Made by {report.Source.Program.Name} {report.Source.Program.Version}.",
            Section("result", "Result",
                El("div", "result", report.Quantities.Take(1).Select(Main), P(report.Statement)),
                FindingsSection.Notice(report.Findings),
                Table("Results", ["Quantity", "Value", "95 % interval"], report.Quantities.Select(q => new object?[]
                {
                    Formula.Write(q.Label),
                    Numbers.PlusMinus(q.Value.Value, q.Value.StandardUncertainty, q.Unit),
                    q.Interval95 is { } interval ? Numbers.Interval([interval.Low, interval.High], q.Unit) : "–",
                }), 1, 2)),
            Section("figures", "Measurements and curve", figures.Select(f => numbering.Place(f.Name))),
            Section("tables", "Tables", report.Tables.Select(t =>
                Table(t.Caption, [.. t.Columns.Select(Formula.Write)], t.Rows,
                    [.. Enumerable.Range(t.TextColumns, t.Columns.Count - t.TextColumns)]))),
            FindingsSection.Write(report.Findings),
            Section("method", "How this was made",
                report.Method.Select(m => P(m)),
                Facts("Source and versions",
                [
                    ("Table", report.Source.TableFile),
                    ("SHA-256", Code(report.Source.TableSha256)),
                    ("Program", $"{report.Source.Program.Name} {report.Source.Program.Version}"),
                    ("Runtime", report.Source.Program.Runtime),
                ])));
    }

    private static object Main(StudyQuantity quantity)
    {
        UncertainValue value = quantity.Value;
        return new object?[]
        {
            P(Formula.Write(quantity.Label), ":"),
            El("p", "value", Numbers.PlusMinus(value.Value, value.StandardUncertainty, quantity.Unit)),
            El("p", "small", "The number after ± is one standard uncertainty."),
        };
    }
}
