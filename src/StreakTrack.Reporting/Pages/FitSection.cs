using System.Xml.Linq;
using StreakTrack.Core.Records;
using StreakTrack.Core.Uncertainty;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>The fit, its rivals, its robustness and its uncertainty.</summary>
internal static class FitSection
{
    /// <summary>Parameters and quality of the fit, and the models tried; null without a fit.</summary>
    public static XElement? Write(AnalysisRecord record)
    {
        if (record.Result.Fit is not FitRecord fit)
            return null;
        ModelWording model = Wording.Model(fit.Model);
        return Section("fit", "Fit",
            P("Model: ", model.Label, model.Formula.Length == 0 ? "." : El("span", null, ", ", Formula.Write(model.Formula), ".")),
            Parameters(fit),
            Facts("Quality of the fit",
            [
                ("Frames used", $"{Numbers.Count(fit.Points)} of {Numbers.Count(record.Result.Series.Frames)}"),
                ("Window", fit.WindowS.Count == 2 ? $"{Numbers.Fixed(fit.WindowS[0], 3)} s to {Numbers.Fixed(fit.WindowS[1], 3)} s" : null),
                ("Degrees of freedom", Numbers.Count(fit.DegreesOfFreedom)),
                ("Residuals, root mean square", $"{Numbers.Significant(fit.ResidualRmsMm, 3)} mm"),
                ("Reduced chi-square", fit.ReducedChiSquare is double chi ? Numbers.Significant(chi, 3) : null),
                ("Iteration ended", fit.Converged ? "at a minimum" : fit.Stop),
            ]),
            Models(fit));
    }

    /// <summary>The decay time under other choices; null when they were not tried.</summary>
    public static XElement? Robustness(ReportContent content, FigureNumbering numbering) =>
        content.Robustness is not { Rows.Count: > 1 } table ? null : Section("robustness", "Robustness",
            P("A decay time that depends on where the window begins, on how the ends were found or on how frames are weighted is not "
                + "yet a property of the oscillator. The figure and the table show what other choices would have given."),
            numbering.Place("robustness"),
            Table("Decay time under other choices. Ratio: the difference over the standard deviation that chance allows it.",
                ["Choice", El("span", null, Symbol("τ"), " / s"), "Difference / s", "Ratio", "Frames"],
                table.Rows.Select((r, i) => new object?[]
                {
                    r.Label,
                    double.IsFinite(r.TauSeconds) ? Numbers.PlusMinus(r.TauSeconds, r.UncertaintySeconds) : "–",
                    i == 0 ? "" : Numbers.Significant(r.DifferenceSeconds, 2),
                    i == 0 ? "" : Numbers.Fixed(r.DifferenceRatio, 1),
                    Numbers.Count(r.PointCount),
                }), 1, 2, 3, 4));

    /// <summary>The uncertainty budgets; null when there are none.</summary>
    public static XElement? Budgets(ReportContent content) => content.Budgets.Count == 0
        ? null
        : Section("budget", "Uncertainty budget",
            P("After JCGM 100:2008. The contribution of an input is its standard uncertainty times the sensitivity of the result to it."),
            content.Budgets.Select(Budget));

    /// <summary>More effective degrees of freedom than these are as good as any number.</summary>
    private const double MaxShownDegrees = 10_000;

    private static IEnumerable<XElement> Parameters(FitRecord fit)
    {
        yield return Table("Parameters of the fit", ["Parameter", "Value", "95 % interval"], fit.Parameters.Select(p =>
        {
            ParameterWording name = Wording.Parameter(p.Key);
            object label = name.Symbol.Length == 0 ? name.Label : El("span", null, name.Label, ", ", Formula.Write(name.Symbol));
            return new[] { label, Numbers.Parameter(p.Value, name.Unit), Numbers.Interval(p.Value.Interval95, name.Unit) };
        }), 1, 2);
        if (fit.LengthOffsetUncertaintyMm > 0)
        {
            string scatter = fit.Parameters.TryGetValue("tau_s", out ParameterRecord? tau) && tau.ScatterUncertainty is double u
                ? $" Without it, from the scatter of the points alone, that of the decay time would be {Numbers.Significant(u, 2)} s."
                : "";
            yield return P("The uncertainties contain an offset that all lengths may have in common, with a standard uncertainty of ",
                $"{Numbers.Significant(fit.LengthOffsetUncertaintyMm, 2)} mm.{scatter}");
        }
    }

    private static XElement? Models(FitRecord fit) => fit.Models.Count < 2 ? null : Table(
        "Models tried. ΔAICc: difference of the corrected Akaike criterion from the best; above about 10 a model has hardly any support. "
            + "A model that did not come to rest, or only at the bound of a parameter, is not chosen.",
        ["Model", "Free parameters", "ΔAICc", El("span", null, Symbol("τ"), " / s")],
        fit.Models.Select(m => new object?[]
        {
            Wording.Model(m.Model).Label + (m.Model == fit.Model ? " (reported)" : ""),
            Numbers.Count(m.Parameters),
            Numbers.Fixed(m.DeltaAicc, 1),
            m.TauS is double tau ? Numbers.PlusMinus(tau, m.TauUncertaintyS) : "–",
        }), 1, 2, 3);

    private static XElement Budget(UncertaintyBudget budget)
    {
        string unit = budget.Unit.Length == 0 ? "" : " " + budget.Unit;
        string name = Wording.Budget(budget.Quantity);
        string degrees = budget.EffectiveDegreesOfFreedom < MaxShownDegrees ? Numbers.Significant(budget.EffectiveDegreesOfFreedom, 3) : "∞";
        return El("div", null,
            El("h3", null, Formula.Write(name)),
            Table("Inputs",
                ["Input", "Estimate", "Standard uncertainty", "Type", "Contribution" + (unit.Length == 0 ? "" : " /" + unit), "Share"],
                budget.Components.Select(c => new object?[]
                {
                    c.Input.Basis.Length == 0 ? c.Input.Name : El("span", null, c.Input.Name, El("span", "small", $" ({c.Input.Basis})")),
                    $"{Numbers.Significant(c.Input.Estimate, 6)} {c.Input.Unit}".TrimEnd(),
                    $"{Numbers.Significant(c.Input.StandardUncertainty, 2)} {c.Input.Unit}".TrimEnd(),
                    c.Input.Evaluation.ToString(),
                    Numbers.Significant(c.Contribution, 2),
                    $"{Numbers.Fixed(100 * c.Share, 1)} %",
                }), 1, 2, 4, 5),
            P($"Result: {Numbers.PlusMinus(budget.Estimate, budget.CombinedStandardUncertainty, budget.Unit)}. Expanded uncertainty ",
                $"{Numbers.Significant(budget.ExpandedUncertainty, 2)}{unit} ",
                $"for a coverage of {Numbers.Significant(100 * budget.CoverageProbability, 3)} %, ",
                $"coverage factor {Numbers.Fixed(budget.CoverageFactor, 2)}, effective degrees of freedom {degrees}."));
    }
}
