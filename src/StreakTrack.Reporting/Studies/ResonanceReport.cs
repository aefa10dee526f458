using StreakTrack.Core.Studies;
using StreakTrack.Core.Uncertainty;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Reporting.Studies;

/// <summary>The report of a resonance study: amplitude against drive frequency.</summary>
public static class ResonanceReport
{
    /// <summary>Puts the study into the form of a report.</summary>
    /// <param name="study">The study.</param>
    /// <param name="options">The settings it was made with.</param>
    /// <param name="source">Where the points come from.</param>
    public static StudyReport Of(ResonanceStudy study, ResonanceOptions options, StudySource source)
    {
        ResonanceFit fit = study.Fit;
        string unit = options.ResponseUnit;
        return new StudyReport
        {
            Title = "Resonance of an oscillator",
            Source = source,
            Statement = study.Statement,
            Quantities = [.. Quantities(study, unit)],
            Plots = [Plot(study, unit)],
            Tables = [Points(study, unit), Parameters(fit), .. study.OtherFit is null ? [] : new[] { Shapes(fit, study.OtherFit) }],
            Method = [Method(fit), .. study.Comparison is null ? [] : new[] { ComparisonText(study.Comparison) }],
            Findings = study.Findings,
        };
    }

    private static IEnumerable<StudyQuantity> Quantities(ResonanceStudy study, string unit)
    {
        ResonanceFit fit = study.Fit;
        yield return new StudyQuantity("resonance frequency f₀", "Hz", fit.F0Hz, Interval("f0_hz"));
        yield return new StudyQuantity("quality factor Q", "", fit.QualityFactor, Interval("q"));
        yield return new StudyQuantity("decay time that belongs to the width, τ", "s", fit.TauSeconds);
        yield return new StudyQuantity("full width of the power curve at half maximum", "Hz", fit.LinewidthPowerHz);
        if (double.IsFinite(fit.PeakFrequencyHz.Value))
        {
            yield return new StudyQuantity("frequency of the largest response", "Hz", fit.PeakFrequencyHz);
            yield return new StudyQuantity("largest response", unit, fit.PeakResponse);
        }

        if (study.Comparison is QComparison comparison)
            yield return new StudyQuantity("quality factor from the decay", "", comparison.FromDecay);

        CoverageInterval? Interval(string name) => fit.Parameters.FirstOrDefault(p => p.Name == name)?.Profile95;
    }

    private static StudyPlot Plot(ResonanceStudy study, string unit)
    {
        ResonanceFit fit = study.Fit;
        double f0 = fit.F0Hz.Value;
        double half = fit.LinewidthPowerHz.Value / 2;
        return new StudyPlot
        {
            Name = "resonance",
            Title = "Response against drive frequency",
            Caption = "Points: the measured steady response, with one standard uncertainty where it is known. Line: the fitted curve. "
                + "Below: measured minus fitted.",
            XTitle = "drive frequency / Hz",
            YTitle = Axis(fit.Response == ResponseModel.PowerLorentzian ? "power" : "amplitude", unit),
            Points = [.. study.Points.Select(p => new LinePoint(p.FrequencyHz, p.Response, 0, p.ResponseUncertainty))],
            Curve = fit.At,
            CurveName = NameOf(fit.Response),
            OtherCurve = study.OtherFit is ResonanceFit other ? f => other.At(f).Value : null,
            OtherCurveName = study.OtherFit is null ? "" : NameOf(study.OtherFit.Response),
            DenseAt = [f0, f0 - half, f0 + half],
        };
    }

    private static StudyTable Points(ResonanceStudy study, string unit) => StudyTables.Numbers(
        "The points",
        ("Drive frequency / Hz", [.. study.Points.Select(p => p.FrequencyHz)], 8),
        (Axis("Response", unit), [.. study.Points.Select(p => p.Response)], 5),
        (Axis("Standard uncertainty", unit), [.. study.Points.Select(p => p.ResponseUncertainty)], 2),
        (Axis("Measured minus fitted", unit), study.Fit.Residuals, 2));

    private static StudyTable Parameters(ResonanceFit fit) => StudyTables.Parameters("Parameters of the curve", fit.Parameters);

    private static StudyTable Shapes(ResonanceFit fit, ResonanceFit other) => new(
        "Two shapes of the same resonance",
        ["Shape", "f₀ / Hz", "Q", "ΔAICc"],
        [
            .. new[] { fit, other }.Select(f => new[]
            {
                NameOf(f.Response), Numbers.PlusMinus(f.F0Hz.Value, f.F0Hz.StandardUncertainty),
                Numbers.PlusMinus(f.QualityFactor.Value, f.QualityFactor.StandardUncertainty),
                Numbers.Fixed(f.Aicc - Math.Min(fit.Aicc, other.Aicc), 1),
            }),
        ])
    {
        TextColumns = 1,
    };

    private static string Method(ResonanceFit fit) =>
        "The curve was fitted by least squares. "
        + (fit.IsScaled
            ? "The uncertainties come from the scatter of the points about the curve."
            : "The uncertainties come from those stated for the points.")
        + " The uncertainty of the drive's frequency scale and that of the ruler are not in them.";

    private static string ComparisonText(QComparison comparison) =>
        $"Q from the width is {Numbers.PlusMinus(comparison.FromWidth.Value, comparison.FromWidth.StandardUncertainty)}, "
        + $"Q from the decay {Numbers.PlusMinus(comparison.FromDecay.Value, comparison.FromDecay.StandardUncertainty)}: "
        + (comparison.Agree ? "they agree" : "they do not agree")
        + $" (difference over expanded uncertainty {Numbers.Significant(comparison.NormalizedError, 2)}; agreement is from −1 to 1).";

    private static string NameOf(ResponseModel model) => model switch
    {
        ResponseModel.Exact => "exact response",
        ResponseModel.Lorentzian => "limit of high Q",
        _ => "Lorentz curve",
    };

    private static string Axis(string quantity, string unit) => unit.Length == 0 ? quantity : $"{quantity} / {unit}";
}
