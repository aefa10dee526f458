using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Core.Records;
using StreakTrack.Core.References;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Pages;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.References;

/// <summary>The hand-out of a reference: one page to be printed, that needs nothing beside it.</summary>
internal static class ReferencePage
{
    /// <summary>The page.</summary>
    /// <param name="reference">The reference.</param>
    /// <param name="figures">Its figures.</param>
    public static string Write(InstrumentReference reference, IReadOnlyList<Figure> figures)
    {
        var numbering = new FigureNumbering(figures.ToDictionary(f => f.Name));
        return PageFrame.Write("Reference of an instrument", reference.Name,
            $"Made by {reference.Program.Name} {reference.Program.Version}.",
            Section("result", "What this instrument does", Values(reference), FindingsSection.Notice(reference.Findings)),
            Section("decay-curve", "Decay", numbering.Place("decay")),
            Compare(reference),
            Section("families", "Damping and resonance", numbering.Place("family"), numbering.Place("resonance")),
            SafetySection.Write("Safety"),
            FindingsSection.Write(reference.Findings),
            Section("method", "How this was made", Method(reference), numbering.Place("runs"), reference.Runs.Count == 0 ? null : Runs(reference)));
    }

    private static object?[] Values(InstrumentReference reference)
    {
        XElement table = Table("The reference", [reference.SettingName is null ? "Instrument" : Wording.Axis(reference.SettingName), "Runs", Formula.Write("τ"), "expected for a further run", Formula.Write("f₀"), Formula.Write("Q")],
            reference.Settings.Select(s => new object?[]
            {
                s.Setting is double at ? Numbers.Significant(at, 6) : reference.Name,
                s.Runs == 0 ? "–" : Numbers.Count(s.Runs),
                Show(s.TauS, "s"),
                Numbers.Interval([s.ToleranceTauS[0], s.ToleranceTauS[1]], "s"),
                s.FrequencyHz is null ? "–" : Show(s.FrequencyHz, "Hz"),
                s.Quantities.TryGetValue("q", out QuantityRecord? q) ? Show(q, "") : "–",
            }), 1, 2, 3, 4, 5);
        return
        [
            reference.Settings.Count > 1 ? null : El("div", "result",
                P("Decay time of the amplitude, to 1/e:"),
                El("p", "value", Symbol("τ"), " = ", Show(reference.Settings[0].TauS, "s")),
                P("A further run is expected, with a probability of 95 %, at ", Numbers.Interval([reference.Settings[0].ToleranceTauS[0], reference.Settings[0].ToleranceTauS[1]], "s"), ". ",
                    El("span", "small", "The number after ± is one standard uncertainty."))),
            table,
        ];
    }

    private static XElement Compare(InstrumentReference reference)
    {
        ReferenceSetting setting = reference.Settings[0];
        double tau = setting.TauS.Value, half = setting.CoverageFactor * setting.ToleranceStandardUncertaintyS;
        double example = tau + (0.6 * half), u = half / 2;
        double? error = new ReferenceTarget(reference.Name, setting).Hold(new QuantityRecord(example, u)).NormalisedError;
        return Section("compare", "Hold your own result against it",
            P("Write down your decay time ", Symbol("τ"), " and its standard uncertainty ", Symbol("u"), ". The normalised error of ISO/IEC 17043 compares the difference "
                + "with both expanded uncertainties; results agree when it lies between −1 and 1:"),
            El("p", "equation", Symbol("E"), El("sub", null, "n"), " = (", Symbol("τ"), " − ", Symbol("τ"), El("sub", null, "ref"), ") / √(", Symbol("U"), "² + ", Symbol("U"), El("sub", null, "ref"), "²)"),
            P("with ", Symbol("U"), " = 2 ", Symbol("u"), ", ", Symbol("τ"), El("sub", null, "ref"), " = ", Numbers.Fixed(tau, Decimals(half)), " s and ", Symbol("U"), El("sub", null, "ref"), " = ", Numbers.Fixed(half, Decimals(half)),
                " s, half the width of the range in which a further run is expected", setting.Setting is null ? "" : $" (here at {ReferenceFigures.NameOf(reference, setting)})", ". An example with invented numbers: ", Numbers.Fixed(example, Decimals(half)), " s with ", Symbol("u"), " = ", Numbers.Fixed(u, Decimals(half)), " s gives ",
                Symbol("E"), El("sub", null, "n"), " = ", Numbers.Fixed(error, 2), "."),
            El("table", "blank", El("tbody", null, new[] { "Name, date", "Instrument, setting", "Decay time and its standard uncertainty / s", "Frequency / Hz", "Quality factor", "Normalised error: do the results agree?" }
                .Select(line => El("tr", null, El("th", null, new XAttribute("scope", "row"), line), El("td", null))))));
    }

    private static object[] Method(InstrumentReference reference) => new object[]
    {
        P(reference.Origin == "runs"
            ? "The runs of one setting were taken together as one-way random effects (JCGM 100:2008, H.5; ISO 13528): the scatter of the frames is independent from run to run, "
                + "and what the runs scatter beyond it is the scatter between runs. What the runs may have in common (shape of the spot, choice of the model, the camera's clock) is "
                + "not made smaller by their number. The range for a further run holds the uncertainty of the mean and the scatter between runs, with the factor of Student's "
                + "distribution for 95 %."
            : "The numbers were given and not measured by this program; the range for a further run follows from the uncertainty and the scatter between runs that were given."),
        El("ul", null, reference.Settings.Select(s => El("li", null,
            ReferenceFigures.NameOf(reference, s), ": scatter between runs ",
            s.BetweenRunDeviationS is double between ? $"{Numbers.Significant(between, 2)} s" : "not known",
            s.HomogeneityProbability is double p ? $" (probability of the observed scatter without it: {(p < 0.001 ? "below 0.001" : p.ToString("0.###", CultureInfo.InvariantCulture))})" : "",
            $"; standard uncertainty for a further run {Numbers.Significant(s.ToleranceStandardUncertaintyS, 2)} s, ",
            s.DegreesOfFreedom is double freedom ? $"{Numbers.Fixed(freedom, freedom < 10 ? 1 : 0)} effective degrees of freedom, " : "",
            $"coverage factor {Numbers.Significant(s.CoverageFactor, 3)}."))),
    };

    private static XElement Runs(InstrumentReference reference) => Table("The runs",
        ["File", reference.SettingName is null ? "SHA-256 begins" : Wording.Axis(reference.SettingName), "model", "τ / s", "of it, scatter of the frames / s"],
        reference.Runs.Select(r => new object?[]
        {
            r.File,
            r.Setting is double at ? Numbers.Significant(at, 6) : Code(r.Sha256.Length > 12 ? r.Sha256[..12] : r.Sha256),
            Wording.Model(r.Model).Label,
            Numbers.PlusMinus(r.TauS, r.StandardUncertaintyS),
            Numbers.Significant(r.ScatterUncertaintyS, 2),
        }), 3, 4);

    private static string Show(QuantityRecord quantity, string unit) => Numbers.PlusMinus(quantity.Value, quantity.StandardUncertainty, unit);

    private static int Decimals(double uncertainty) => Math.Clamp(1 - (int)Math.Floor(Math.Log10(uncertainty)), 0, 6);
}
