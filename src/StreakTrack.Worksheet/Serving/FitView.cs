using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Worksheet.Serving;

/// <summary>Fit and results as the page gets them, in the report's words and notation.</summary>
internal static class FitView
{
    /// <summary>Numbers, tables and sentences.</summary>
    public static object Of(ResultRecord result)
    {
        if (result.Fit is not FitRecord fit)
            return new { Model = (string?)null, Problem = Problem(result), Quantities = Array.Empty<object>() };
        ModelWording model = Wording.Model(fit.Model);
        return new
        {
            fit.Model,
            Label = model.Label,
            Formula = model.Formula,
            fit.Statement,
            fit.Points,
            fit.DegreesOfFreedom,
            ReducedChiSquare = Numbers.Significant(fit.ReducedChiSquare, 3),
            ResidualRms = Numbers.Significant(fit.ResidualRmsMm, 2) + " mm",
            fit.WindowS,
            Parameters = fit.Parameters.Select(p =>
            {
                ParameterWording words = Wording.Parameter(p.Key);
                return new
                {
                    Key = p.Key, words.Symbol, words.Label, Value = Numbers.Parameter(p.Value, words.Unit),
                    Interval = Numbers.Interval(p.Value.Interval95, words.Unit), Number = p.Value.Value, p.Value.StandardUncertainty,
                };
            }),
            Models = fit.Models.Select(m => new
            {
                m.Model, Wording.Model(m.Model).Label, m.Parameters, DeltaAicc = Numbers.Fixed(m.DeltaAicc, 1),
                Tau = m.TauS is double tau ? Numbers.PlusMinus(tau, m.TauUncertaintyS, "s") : "–",
            }),
            Quantities = result.Oscillator.Select(q =>
            {
                (string label, string unit, string relation) = Wording.Quantity(q.Key);
                return new { q.Key, Label = label, Relation = relation, Value = Numbers.PlusMinus(q.Value.Value, q.Value.StandardUncertainty, unit) };
            }),
            Budgets = result.Budgets.Select(Budget),
            Robustness = result.Robustness.Select(r => new
            {
                r.Group, r.Label, r.Setting, r.TauS, UncertaintyS = r.TauUncertaintyS, r.DifferenceS, r.DifferenceRatio, PointCount = r.Points,
            }),
        };
    }

    /// <summary>Curve, band and residuals for the figure; null without a fit.</summary>
    /// <param name="fit">The fit.</param>
    /// <param name="samples">Samples of the series; residuals are left out where the fit is one to the means of groups of them.</param>
    public static object? CurveOf(EnvelopeFit fit, int samples)
    {
        IEnumerable<FittedPoint> points = fit.Points.Count == samples ? fit.Points : [];
        return FittedCurve.From(fit) is not FittedCurve curve ? null : new
        {
            TimeS = curve.TimesSeconds,
            AmplitudeMm = curve.AmplitudesMm,
            UncertaintyMm = curve.UncertaintiesMm,
            SwitchTimeS = curve.SwitchTimeSeconds,
            WindowS = new[] { fit.WindowStartSeconds, fit.WindowEndSeconds },
            ResidualMm = points.Select(p => p.IsUsed ? p.ResidualMm : double.NaN),
            Use = points.Select(p => p.Use),
        };
    }

    private static string Problem(ResultRecord result) =>
        result.Findings.FirstOrDefault(f => f.Severity == Core.Findings.FindingSeverity.Error) is { } finding
            ? $"{finding.Message} {finding.Advice}"
            : "No envelope could be fitted; see the findings.";

    private static object Budget(BudgetRecord budget) => new
    {
        Quantity = Wording.Budget(budget.Quantity),
        Result = Numbers.PlusMinus(budget.Estimate, budget.CombinedStandardUncertainty, budget.Unit),
        Expanded = $"{Numbers.Significant(budget.ExpandedUncertainty, 2)} {budget.Unit}".TrimEnd(),
        CoverageFactor = Numbers.Fixed(budget.CoverageFactor, 2),
        Coverage = $"{Numbers.Significant(100 * budget.CoverageProbability, 3)} %",
        Components = budget.Inputs.Select(input => new
        {
            input.Name,
            input.Basis,
            Estimate = $"{Numbers.Significant(input.Estimate, 6)} {input.Unit}".TrimEnd(),
            Uncertainty = $"{Numbers.Significant(input.StandardUncertainty, 2)} {input.Unit}".TrimEnd(),
            Type = input.Evaluation,
            Contribution = Numbers.Significant(input.Contribution, 2),
            Share = $"{Numbers.Fixed(100 * input.Share, 1)} %",
        }),
        MonteCarlo = budget.MonteCarlo is not { } trials ? null : new
        {
            trials.Trials,
            Result = Numbers.PlusMinus(trials.Estimate, trials.StandardUncertainty, budget.Unit),
            Interval = Numbers.Interval([.. trials.Interval95], budget.Unit),
            trials.ConfirmsBudget,
        },
    };
}
