using System.Xml.Linq;
using StreakTrack.Core.Records;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>A drive stepped through resonance: what came out, and the steps.</summary>
internal static class SweepSection
{
    private static readonly (string Name, string Label, string Unit)[] Known =
    [
        ("f0_hz", "resonance frequency f₀, undamped", "Hz"), ("damped_frequency_hz", "frequency of the free oscillation", "Hz"),
        ("q", "quality factor Q = π f₀ τ", ""), ("tau_s", "decay time of the amplitude τ", "s"),
        ("resonance_amplitude_mm", "steady amplitude on resonance", "mm"), ("linewidth_power_hz", "full width of the power curve at half maximum", "Hz"),
    ];

    /// <summary>The main numbers, in front of everything else.</summary>
    public static XElement Result(SweepRecord sweep) => El("div", "result",
        P("Resonance frequency and quality factor:"),
        El("p", "value", Symbol("f₀"), " = ", Value(sweep.Parameters, "f0_hz", "Hz"), ", ", Symbol("Q"), " = ", Value(sweep.Parameters, "q", "")),
        P(El("span", "small", "The number after ± is one standard uncertainty.")), P(sweep.Statement));

    /// <summary>The section; null when the drive was not stepped.</summary>
    public static XElement? Write(AnalysisRecord record, FigureNumbering numbering)
    {
        if (record.Result.Sweep is not SweepRecord sweep)
            return null;
        return Section("sweep", "Sweep",
            P("The whole motion was fitted at once: steady response and settling after every step, in the frame that turns with the drive of that step. "
                + "The times of the steps were fitted about those of the table; "
                + (sweep.PhaseJumps ? "so were jumps of the drive's phase." : "the drive's phase was taken to run on at each.")
                + $" Shape of the response: {NameOf(sweep.Response)}."),
            Table("Results", ["Quantity", "Value", "95 % interval"], Known.Where(k => sweep.Parameters.ContainsKey(k.Name)).Select(k => new object?[]
            {
                Formula.Write(k.Label), Value(sweep.Parameters, k.Name, k.Unit), Numbers.Interval(sweep.Parameters[k.Name].Interval95, k.Unit),
            }), 1, 2),
            sweep.OtherResponse.Count == 0 ? null : P(
                $"With the other shape, {NameOf(sweep.Response == "exact" ? "lorentzian" : "exact")}: ", Symbol("f₀"), " = ", Value(sweep.OtherResponse, "f0_hz", "Hz"), ", ",
                Symbol("Q"), " = ", Value(sweep.OtherResponse, "q", ""), sweep.OtherDeltaAicc is double d ? $"; its AICc differs by {Numbers.Fixed(d, 1)}." : "."),
            Facts("Quality of the fit",
            [
                ("Points used", $"{Numbers.Count(sweep.Points)} of {Numbers.Count(record.Result.Series.Frames)}"),
                ("Degrees of freedom", Numbers.Count(sweep.DegreesOfFreedom)),
                ("Residuals, root mean square", $"{Numbers.Significant(sweep.ResidualRmsMm, 3)} mm"),
                ("Correlation of neighbours", Numbers.Fixed(sweep.NoiseCorrelation, 2)),
            ]),
            numbering.Place("resonance"),
            Table("The steps; the same table, for a resonance study, is in " + ReportFolder.PlateausFile,
                ["Drive frequency / Hz", "Began at / s", "Amplitude / mm", "Mean of last third / mm", "Transient left / mm", "Remark"],
                sweep.Plateaus.Select(p => new object?[]
                {
                    Numbers.Significant(p.FrequencyHz, 7), Numbers.Fixed(p.StartS, 3),
                    p.AmplitudeMm is double a ? Numbers.PlusMinus(a, p.AmplitudeUncertaintyMm) : "–",
                    p.MeanMm is double mean ? Numbers.Fixed(mean, 3) : "–", Numbers.Fixed(p.TransientMm, 3),
                    p.Points == 0 ? "no usable frame" : p.Settled ? "" : "unsettled",
                }), 0, 1, 2, 3, 4));
    }

    private static string Value(IReadOnlyDictionary<string, QuantityWithInterval> values, string name, string unit) =>
        values.TryGetValue(name, out QuantityWithInterval? found) ? Numbers.PlusMinus(found.Value, found.StandardUncertainty, unit) : "–";

    private static string NameOf(string response) => response == "exact" ? "exact response to a constant force" : "its limit for a high Q";
}
