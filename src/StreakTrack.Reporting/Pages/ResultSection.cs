using System.Xml.Linq;
using StreakTrack.Core.Records;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>What came out, in front of everything else.</summary>
internal static class ResultSection
{
    /// <summary>The result with its plain sentence, what must be known beside it, and the physical quantities.</summary>
    public static XElement Write(AnalysisRecord record)
    {
        ResultRecord result = record.Result;
        return Section("result", "Result",
            result.Sweep is SweepRecord sweep ? SweepSection.Result(sweep) : result.Fit is null ? NoFit() : MainValue(result.Fit),
            FindingsSection.Notice(result.Findings),
            result.Fit is null ? null : Quantities(record));
    }

    /// <summary>The two main figures.</summary>
    public static XElement Figures(FigureNumbering numbering) =>
        Section("figures", "Amplitude against time", numbering.Place("amplitude"), numbering.Place("amplitude-log"));

    private static XElement NoFit() => El("div", "result",
        P("No envelope could be fitted to this series, so there is no decay time to report. "
            + "The findings say why, and what to do about it."));

    private static XElement MainValue(FitRecord fit)
    {
        XElement? tau = fit.Parameters.TryGetValue("tau_s", out ParameterRecord? found)
            ? El("p", "value", Symbol("τ"), " = ", Numbers.PlusMinus(found.Value, found.StandardUncertainty, "s"))
            : null;
        XElement? interval = found is null ? null : P("95 % interval: ", Numbers.Interval(found.Interval95, "s"), ". ",
            El("span", "small", "The number after ± is one standard uncertainty."));
        return El("div", "result",
            P("Decay time of the amplitude, to 1/e:"), tau, interval, P(fit.Statement),
            fit.Converged ? null : P(El("b", null, "The fit did not come to rest at a minimum; these numbers must not be used.")));
    }

    private static XElement? Quantities(AnalysisRecord record)
    {
        IReadOnlyDictionary<string, QuantityRecord> quantities = record.Result.Oscillator;
        if (quantities.Count == 0)
            return null;
        List<object?> parts =
        [
            El("h3", null, "Physical quantities"),
            Table("What follows from the decay time" + (record.Options.FrequencyHz is null ? "" : " and the frequency"),
                ["Quantity", "Relation", "Value"],
                quantities.Select(q =>
                {
                    (string label, string unit, string relation) = Wording.Quantity(q.Key);
                    string value = Numbers.PlusMinus(q.Value.Value, q.Value.StandardUncertainty, unit);
                    return new object?[] { Formula.Write(label), Formula.Write(relation.Length == 0 ? "as given" : relation), value };
                }),
                2),
        ];
        if (record.Options.FrequencyHz is null)
        {
            parts.Add(El("p", "small",
                "Q, damping ratio and logarithmic decrement need the frequency of the oscillation: give it with --frequency."));
        }

        return El("div", null, parts);
    }
}
