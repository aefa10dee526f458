using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>The fit: its parameters, its quality, the points far off it, and its rivals.</summary>
internal static class FitSection
{
    /// <summary>Flagged points listed in the report; the record names all.</summary>
    private const int MostFlagged = 40;

    /// <summary>Below this probability residuals are said not to look like independent noise.</summary>
    private const double Improbable = 0.01;

    /// <summary>The section; null without a fit.</summary>
    public static XElement? Write(AnalysisRecord record)
    {
        if (record.Result.Fit is not FitRecord fit)
            return null;
        ModelWording model = Wording.Model(fit.Model);
        return Section("fit", "Fit",
            P("Model: ", model.Label, model.Formula.Length == 0 ? "." : El("span", null, ", ", Formula.Write(model.Formula), ".")),
            Parameters(fit, record.Clip is not null),
            Facts("Quality of the fit",
            [
                ("Points used", $"{Numbers.Count(fit.Points)} of {Numbers.Count(record.Result.Series.Frames)}{LeftOut(fit.LeftOut)}"),
                ("Window", fit.WindowS.Count == 2 ? $"{Numbers.Fixed(fit.WindowS[0], 3)} s to {Numbers.Fixed(fit.WindowS[1], 3)} s" : null),
                ("Degrees of freedom", DegreesOfFreedom(fit)),
                ("Residuals, root mean square", $"{Numbers.Significant(fit.ResidualRmsMm, 3)} mm"),
                ("Reduced chi-square", ReducedChiSquare(fit)),
                ("Residual tests", ResidualTests(fit.Residuals)),
                ("Correlation of neighbours", Correlation(fit)),
                ("Loss", fit.Loss == "robust" ? "robust: points far off the curve count less" : "least squares"),
                ("Iteration ended", fit.Converged ? "at a minimum" : fit.Stop),
            ]),
            Bootstrap(fit),
            Flagged(fit),
            Models(fit));
    }

    private static string DegreesOfFreedom(FitRecord fit) =>
        Numbers.Count(fit.DegreesOfFreedom) + (fit.EffectiveDegreesOfFreedom < fit.DegreesOfFreedom - 0.5
            ? $"; {Numbers.Significant(fit.EffectiveDegreesOfFreedom, 3)} effective, for correlated residuals" : "");

    private static string LeftOut(LeftOutRecord? leftOut)
    {
        if (leftOut is null)
            return "";
        List<string> parts = [];
        if (leftOut.Unusable > 0)
            parts.Add($"{Numbers.Count(leftOut.Unusable)} without a usable amplitude");
        if (leftOut.OutsideWindow > 0)
            parts.Add($"{Numbers.Count(leftOut.OutsideWindow)} outside the window");
        if (leftOut.TransitionFrames.Count > 0)
        {
            string frames = string.Join(", ", leftOut.TransitionFrames.Select(f => f.ToString(CultureInfo.InvariantCulture)));
            parts.Add($"{leftOut.TransitionFrames.Count} whose exposure may see both sides of the switch (frame {frames})");
        }

        return parts.Count == 0 ? "" : "; left out: " + string.Join(", ", parts);
    }

    /// <summary>Whether the frames' own uncertainties, and so the weights, are of the right size.</summary>
    private static string ReducedChiSquare(FitRecord fit)
    {
        if (fit.ReducedChiSquare is not double chi)
            return "not known: the points have no uncertainties of their own, all count alike and their scatter gives the size";
        string value = Numbers.Significant(chi, 3);
        if (fit.ReducedChiSquareRange95 is not { Count: 2 } range)
            return value;
        string expected = $"{value}; {Numbers.Fixed(range[0], 2)} to {Numbers.Fixed(range[1], 2)} expected at 95 %: ";
        if (chi >= range[0] && chi <= range[1])
            return expected + "the points' own uncertainties are of the right size";
        if (chi < range[0])
            return expected + "the points' own uncertainties are too large; the scatter gives the size";
        return expected + "the points' own uncertainties are too small; " + (fit.CommonScatterMm > 0
            ? $"a scatter of {Numbers.Significant(fit.CommonScatterMm, 2)} mm common to all was added to them"
            : "only their ratios were used");
    }

    private static string? ResidualTests(ResidualRecord? residuals) => residuals is null ? null
        : $"runs of one sign: {Numbers.Fixed(residuals.RunsZ, 1)} standard deviations from chance (probability "
            + $"{Numbers.Significant(residuals.RunsProbability, 2)}); Durbin-Watson {Numbers.Fixed(residuals.DurbinWatson, 2)}; Ljung-Box "
            + $"{Numbers.Significant(residuals.LjungBox, 3)} for {residuals.LjungBoxLags} lags (probability "
            + $"{Numbers.Significant(residuals.LjungBoxProbability, 2)}). "
            + (residuals.LjungBoxProbability < Improbable || residuals.RunsProbability < Improbable
                ? "They do not look like independent noise."
                : "They look like independent noise.");

    private static string Correlation(FitRecord fit)
    {
        if (!(fit.NoiseCorrelation > 0))
            return "none that is significant";
        string factor = fit.Parameters.TryGetValue("tau_s", out ParameterRecord? tau) && tau.IndependentUncertainty > 0
            ? $"; the scatter's part of the uncertainty of the decay time is {Numbers.Fixed(tau.ScatterUncertainty / tau.IndependentUncertainty, 2)} times as large as for independent residuals"
            : "";
        return $"{Numbers.Fixed(fit.NoiseCorrelation, 2)}, allowed for as first-order noise{factor}";
    }

    private static IEnumerable<XElement> Parameters(FitRecord fit, bool ofClip)
    {
        yield return Table("Parameters of the fit", ["Parameter", "Value", "95 % interval"], fit.Parameters.Select(p =>
        {
            ParameterWording name = Wording.Parameter(p.Key);
            object label = name.Symbol.Length == 0 ? name.Label : El("span", null, name.Label, ", ", Formula.Write(name.Symbol));
            bool given = p.Value.Held && p.Value.StandardUncertainty is null;
            return new[]
            {
                label,
                Numbers.Parameter(p.Value, name.Unit),
                given ? (p.Value.AtBound ? "at its bound" : "held") : Numbers.Interval(p.Value.Interval95, name.Unit),
            };
        }), 1, 2);
        if (fit.Parameters.Values.Any(HasParts))
        {
            yield return Table("Where the standard uncertainties come from",
                ["Parameter", "Scatter of the points", "Offset of all lengths", "Switch time", "Choice of the model"],
                fit.Parameters.Where(p => p.Value.StandardUncertainty is not null).Select(p =>
                {
                    ParameterWording name = Wording.Parameter(p.Key);
                    return new object?[]
                    {
                        El("span", null, Formula.Write(name.Symbol.Length == 0 ? name.Label : name.Symbol), $" / {name.Unit}"),
                        Part(p.Value.ScatterUncertainty), Part(p.Value.OffsetUncertainty), Part(p.Value.SwitchTimeUncertainty),
                        Part(p.Value.ModelUncertainty),
                    };
                }), 1, 2, 3, 4);
        }

        if (ofClip && fit.Parameters.ContainsKey(EnvelopeParameters.SwitchTime))
        {
            yield return P(Formula.Write("t₀"), " and all other times are time stamps of frames. A stamp marks the start of the frame's exposure, and "
                + "what the frame shows happened during it: a switch at ", Formula.Write("t₀"), " by the stamps took place up to one exposure later.");
        }

        if (fit.LengthOffsetUncertaintyMm > 0)
        {
            yield return P("All lengths may have an offset in common, with a standard uncertainty of ",
                $"{Numbers.Significant(fit.LengthOffsetUncertaintyMm, 2)} mm.");
        }

        static bool HasParts(ParameterRecord p) => p.OffsetUncertainty > 0 || p.SwitchTimeUncertainty > 0 || p.ModelUncertainty > 0;
        static string Part(double? uncertainty) => uncertainty > 0 ? Numbers.Significant(uncertainty, 2) : "–";
    }

    private static XElement? Bootstrap(FitRecord fit) => fit.Bootstrap is not BootstrapRecord bootstrap ? null : Table(
        $"The scatter's part of the uncertainties, and what a moving-block bootstrap says of it: {Numbers.Count(bootstrap.Replicates)} simulated "
            + $"series, blocks of {Numbers.Count(bootstrap.BlockLength)} residuals, seed {bootstrap.Seed}"
            + (bootstrap.Failures > 0 ? $", {Numbers.Count(bootstrap.Failures)} without a fit" : "")
            + ". Blocks break the correlation where they meet, so the bootstrap runs low where neighbours resemble each other.",
        ["Parameter", "Stated", "If independent", "Bootstrap", "2.5 % to 97.5 %"],
        bootstrap.Parameters.Select(p =>
        {
            ParameterWording name = Wording.Parameter(p.Key);
            fit.Parameters.TryGetValue(p.Key, out ParameterRecord? stated);
            return new object?[]
            {
                El("span", null, Formula.Write(name.Symbol.Length == 0 ? name.Label : name.Symbol), $" / {name.Unit}"),
                Numbers.Significant(stated?.ScatterUncertainty, 2), Numbers.Significant(stated?.IndependentUncertainty, 2),
                Numbers.Significant(p.Value.StandardUncertainty, 2), Numbers.Interval(p.Value.Interval95),
            };
        }), 1, 2, 3, 4);

    private static XElement? Flagged(FitRecord fit) => fit.FlaggedPoints.Count == 0 ? null : Table(
        $"Points far off the curve. They were used, with the weight shown; the figures mark them."
            + (fit.FlaggedPoints.Count > MostFlagged
                ? $" The {MostFlagged} farthest of {Numbers.Count(fit.FlaggedPoints.Count)}; record.json names all." : ""),
        ["Frame", "Time / s", "Amplitude / mm", "Residual / mm", "Weight"],
        fit.FlaggedPoints.OrderByDescending(p => Math.Abs(p.ResidualMm)).Take(MostFlagged).OrderBy(p => p.TimeS).Select(p => new object?[]
        {
            Numbers.Count(p.Frame), Numbers.Fixed(p.TimeS, 3), Numbers.Significant(p.AmplitudeMm, 4), Numbers.Significant(p.ResidualMm, 2),
            Numbers.Significant(p.Weight, 2),
        }), 1, 2, 3, 4);

    private static XElement? Models(FitRecord fit)
    {
        if (fit.Models.Count < 2)
            return null;
        ILookup<string, ModelRecord> forms = fit.Models.ToLookup(m => m.Model);
        return Table(
            "Models tried. ΔAICc: difference of the corrected Akaike criterion from the best; above about 10 a model has hardly any support. "
                + "A model that did not come to rest, or only at the bound of a parameter, is not chosen.",
            ["Model", "Free parameters", "ΔAICc", El("span", null, Symbol("τ"), " / s")],
            fit.Models.Select(m => new object?[]
            {
                Wording.Model(m.Model).Label + (forms[m.Model].Count() > 1 ? Wording.Form(m.Formula) : "") + (IsReported(m) ? " (reported)" : ""),
                Numbers.Count(m.Parameters),
                Numbers.Fixed(m.DeltaAicc, 1),
                m.TauS is double tau ? Numbers.PlusMinus(tau, m.TauUncertaintyS) : "–",
            }), 1, 2, 3);

        bool IsReported(ModelRecord model) => model.Model == fit.Model && (fit.Formula is null || model.Formula == fit.Formula);
    }
}
