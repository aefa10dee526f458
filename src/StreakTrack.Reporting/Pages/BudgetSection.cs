using System.Xml.Linq;
using StreakTrack.Core.Records;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>The uncertainty budgets, and their check by the Monte Carlo method.</summary>
internal static class BudgetSection
{
    /// <summary>More effective degrees of freedom than these are as good as any number.</summary>
    private const double MaxShownDegrees = 10_000;

    /// <summary>The section; null when there are no budgets.</summary>
    public static XElement? Write(AnalysisRecord record) => record.Result.Budgets.Count == 0
        ? null
        : Section("budget", "Uncertainty budget",
            P("After JCGM 100:2008. The contribution of an input is its standard uncertainty times the sensitivity of the result to it."),
            record.Result.Budgets.Select(Budget));

    private static XElement Budget(BudgetRecord budget)
    {
        string unit = budget.Unit.Length == 0 ? "" : " " + budget.Unit;
        string degrees = Degrees(budget.EffectiveDegreesOfFreedom);
        return El("div", null,
            El("h3", null, Formula.Write(Wording.Budget(budget.Quantity))),
            Table("Inputs",
                [
                    "Input", "Estimate", "Standard uncertainty", "Type", "Degrees of freedom",
                    "Contribution" + (unit.Length == 0 ? "" : " /" + unit), "Share",
                ],
                budget.Inputs.Select(input => new object?[]
                {
                    input.Basis.Length == 0 ? input.Name : El("span", null, input.Name, El("span", "small", $" ({input.Basis})")),
                    $"{Numbers.Significant(input.Estimate, 6)} {input.Unit}".TrimEnd(),
                    $"{Numbers.Significant(input.StandardUncertainty, 2)} {input.Unit}".TrimEnd(),
                    input.Evaluation,
                    Degrees(input.DegreesOfFreedom),
                    Numbers.Significant(input.Contribution, 2),
                    $"{Numbers.Fixed(100 * input.Share, 1)} %",
                }), 1, 2, 4, 5, 6),
            P($"Result: {Numbers.PlusMinus(budget.Estimate, budget.CombinedStandardUncertainty, budget.Unit)}. Expanded uncertainty ",
                $"{Numbers.Significant(budget.ExpandedUncertainty, 2)}{unit} ",
                $"for a coverage of {Numbers.Significant(100 * budget.CoverageProbability, 3)} %, ",
                $"coverage factor {Numbers.Fixed(budget.CoverageFactor, 2)}, effective degrees of freedom {degrees}."),
            budget.MonteCarlo is MonteCarloRecord trials ? MonteCarlo(budget, trials) : null);
    }

    private static XElement MonteCarlo(BudgetRecord budget, MonteCarloRecord trials) => P(
        $"Monte Carlo method after JCGM 101:2008, {Numbers.Count(trials.Trials)} trials, seed {trials.Seed}",
        trials.Settled == false ? " (not yet settled)" : "",
        $": {Numbers.PlusMinus(trials.Estimate, trials.StandardUncertainty, budget.Unit)}, 95 % interval ",
        $"{Numbers.Interval([trials.Interval95[0], trials.Interval95[1]], budget.Unit)}. ",
        trials.ConfirmsBudget
            ? "It confirms the budget's interval."
            : "It does not confirm the budget's interval to the first digit of the standard uncertainty: take the interval given here.");

    private static string Degrees(double? degrees) => degrees < MaxShownDegrees ? Numbers.Significant(degrees, 3) : "∞";
}
