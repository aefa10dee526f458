using System.Xml.Linq;
using StreakTrack.Core.Records;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>The decay time under other choices.</summary>
internal static class RobustnessSection
{
    /// <summary>The section; null when other choices were not tried.</summary>
    public static XElement? Write(AnalysisRecord record, FigureNumbering numbering) =>
        record.Result.Robustness is not { Count: > 1 } rows ? null : Section("robustness", "Robustness",
            P("A decay time that depends on where the window begins, on how the ends were found or on how frames are weighted is not "
                + "yet a property of the oscillator. The figure and the table show what other choices would have given."),
            numbering.Place("robustness"),
            Table("Decay time under other choices. Ratio: the difference over the standard deviation that chance allows it.",
                ["Choice", El("span", null, Symbol("τ"), " / s"), "Difference / s", "Ratio", "Frames"],
                rows.Select((r, i) => new object?[]
                {
                    r.Label,
                    r.TauS is double tau ? Numbers.PlusMinus(tau, r.TauUncertaintyS) : "–",
                    i == 0 ? "" : Numbers.Significant(r.DifferenceS, 2),
                    i == 0 ? "" : Numbers.Fixed(r.DifferenceRatio, 1),
                    Numbers.Count(r.Points),
                }), 1, 2, 3, 4));
}
