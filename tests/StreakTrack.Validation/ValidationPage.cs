using System.Globalization;
using System.Text;
using StreakTrack.Core.Fitting;
using StreakTrack.Tests.Shared;
using StreakTrack.Validation.EnvelopeFits;
using StreakTrack.Validation.NonlinearRegression;

namespace StreakTrack.Validation;

/// <summary>Writes docs/validation.md from what it measures on the way.</summary>
internal static class ValidationPage
{
    private const int Seed = 20240601;

    public static string Write(int coverageSeries, Action<string> progress)
    {
        var page = new StringBuilder();
        page.Append("""
            # What the fits were held against

            Written by `dotnet run --project tests/StreakTrack.Validation -c Release` from what it measured; not to be edited by hand. The same
            comparisons, with bounds, are tests of that project.

            """);
        Nonlinear(page, progress);
        References(page, progress);
        Coverage(page, coverageSeries, progress);
        return page.ToString();
    }

    private static void Nonlinear(StringBuilder page, Action<string> progress)
    {
        page.Append("""

            ## NIST Statistical Reference Datasets, nonlinear regression

            All 27 sets from both official starts through the same door as every fit of the program. Correct digits (log relative error, at most the 11
            that are certified) of the worst parameter, of the worst standard deviation and of the residual sum of squares; beside them
            the worst parameter by scipy 1.10.1: `curve_fit` with its defaults, and `least_squares` (trust region, exact Jacobian, tight tolerances)
            with Gauss-Newton steps while they shrink. Lanczos1 was made without noise, so that its residual sum is rounding noise of the data and
            only the parameters count.

            | set | level | start | stop | parameters | deviations | residual sum | scipy default | scipy polished |
            | --- | --- | --- | --- | --- | --- | --- | --- | --- |

            """);
        Dictionary<(string, string, string), string> scipy = File.ReadLines(Fixtures.PathOf("nist-strd", "scipy-strd.csv"))
            .Where(line => line.Length > 0 && line[0] != '#').Skip(1).Select(line => line.Split(','))
            .ToDictionary(cells => (cells[0], cells[1], cells[3]), cells => cells[4]);
        double worst = double.PositiveInfinity;
        int runs = 0, wrong = 0;
        foreach (string name in StrdSet.Names)
        {
            StrdSet set = StrdSet.Read(name);
            for (int start = 1; start <= 2; start++)
            {
                LeastSquaresResult result = set.Solve(start - 1);
                StrdScore score = StrdScore.Of(set, result);
                worst = Math.Min(worst, score.ParameterDigits);
                runs++;
                wrong += result.Converged && score.ParameterDigits < 4 ? 1 : 0;
                Line(page, $"| {name} | {set.Level} | {start} | {result.Stop} | {score.ParameterDigits:F1} | {score.DeviationDigits:F1} | {score.ResidualSumDigits:F1} | {scipy[("curve_fit default", name, $"{start}")]} | {scipy[("least_squares trf analytic tight polish", name, $"{start}")]} |");
            }
        }

        Line(page, $"");
        Line(page, $"Fewest digits of a parameter in {runs} runs: {worst:F1}. Wrong answers called converged: {wrong}.");
        progress($"NIST: {runs} runs, fewest digits {worst:F1}");
    }

    private static void References(StringBuilder page, Action<string> progress)
    {
        page.Append("""

            ## Series with reference fits by scipy

            Seeded series in `fixtures/fits`. Worst parameter of each: relative difference of the estimate and of the standard error, and difference of
            an end of the 95 % profile interval in standard errors.

            | series | model | estimate | standard error | interval end |
            | --- | --- | --- | --- | --- |

            """);
        foreach (ReferenceFit reference in ReferenceFit.All)
        {
            ReferenceScore score = reference.Compare(reference.Fit());
            string end = double.IsNaN(score.IntervalEnd) ? "" : score.IntervalEnd.ToString("0E+0", CultureInfo.InvariantCulture);
            Line(page, $"| {reference} | {reference.Model} | {score.Estimate:0E+0} | {score.StandardError:0E+0} | {end} |");
        }

        page.Append("""

            The residual tests of `decay_ar1` agree with statsmodels 0.13.5. Of the measured data, the beta absorption of aluminium (Poisson weights)
            and the ring-down of a wheel on a torsion rod agree with scipy within the same bounds; for the wheel, whose residuals are correlated,
            generalised least squares reproduces the honest uncertainty of a block bootstrap, 3.6 times the naive one.

            """);
        progress($"references: {ReferenceFit.All.Count} fits");
    }

    private static void Coverage(StringBuilder page, int count, Action<string> progress)
    {
        double binomial = Math.Sqrt(0.95 * 0.05 / count);
        Line(page, $"");
        Line(page, $"## How often the stated interval holds the truth");
        Line(page, $"");
        Line(page, $"{count} simulated series each, 30 points a second, seeds from {Seed} on. Share of stated 95 % intervals of tau that hold the true tau (binomial");
        Line(page, $"standard deviation {100 * binomial:F1} %); beside it the share for intervals that take residuals as independent. Bias and scatter of tau over the");
        Line(page, $"series, the median of the stated standard uncertainty, and the scatter over the Cramer-Rao bound where that applies. The scatter itself is known");
        Line(page, $"to {100 / Math.Sqrt(2.0 * count):F1} %.");
        Line(page, $"");
        Line(page, $"### The model is named");
        Line(page, $"");
        Line(page, $"| series | holds the truth | naive | no fit | bias, ms | scatter, ms | stated, ms | scatter/bound |");
        Line(page, $"| --- | --- | --- | --- | --- | --- | --- | --- |");
        CoverageResult[] results = [.. CoverageCase.All.Select((study, i) =>
        {
            CoverageResult result = study.Run(count, Seed + i);
            progress($"coverage: {study.Name} {100 * result.Coverage:F1} %");
            return result;
        })];
        IEnumerable<(CoverageCase Study, CoverageResult Result)> rows = CoverageCase.All.Zip(results);
        foreach ((CoverageCase study, CoverageResult result) in rows.Where(row => !row.Study.ChoosesModel))
        {
            string bound = double.IsNaN(result.BoundRatio) ? "" : result.BoundRatio.ToString("F3", CultureInfo.InvariantCulture);
            Line(page, $"| {study.Name} | {100 * result.Coverage:F1} % | {100 * result.NaiveCoverage:F1} % | {result.Failures} | {1000 * result.BiasSeconds:F2} | {1000 * result.DeviationSeconds:F2} | {1000 * result.MedianUncertaintySeconds:F2} | {bound} |");
        }

        page.Append("""

            ### The program chooses the model

            The same series with the model left to the program. The interval is then taken over the models (their likelihood profiled over like
            that of any other unknown, each parameter at its cost), and the stated uncertainty reaches as far; beside it the share that would hold
            the truth if the chosen model were taken for known. Who knows the model and names it has the shorter interval of the table above.

            """);
        Choices(page, rows.Where(row => row.Study.ChoosesModel && !row.Study.IsHidden));
        page.Append("""

            ### The noise hides what bends the decay

            Decays of 48 mm with a floor, a drag or a dry friction from hardly ever to nearly always seen, the model left to the program. Choosing
            the model and then taking it for known is worst in between: the simpler model is kept often, and it is biased.

            """);
        Choices(page, rows.Where(row => row.Study.IsHidden));
        Line(page, $"");
        foreach (bool hidden in (bool[])[false, true])
        {
            (CoverageCase study, CoverageResult result) = rows.Where(row => row.Study.IsHidden == hidden).MinBy(row => row.Result.Coverage);
            string of = hidden ? "this table" : "the two tables above";
            Line(page, $"Lowest share of {of}: {100 * result.Coverage:F1} % ({study.Name}{(study.ChoosesModel && !hidden ? ", model chosen" : "")}).");
        }
    }

    private static void Choices(StringBuilder page, IEnumerable<(CoverageCase Study, CoverageResult Result)> rows)
    {
        Line(page, $"");
        Line(page, $"| series | right model | holds the truth | model taken for known | naive | no fit | bias, ms | scatter, ms | stated, ms |");
        Line(page, $"| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
        foreach ((CoverageCase study, CoverageResult result) in rows)
            Line(page, $"| {study.Name} | {100 * result.RightModel:F1} % | {100 * result.Coverage:F1} % | {100 * result.CoverageWithoutChoice:F1} % | {100 * result.NaiveCoverage:F1} % | {result.Failures} | {1000 * result.BiasSeconds:F2} | {1000 * result.DeviationSeconds:F2} | {1000 * result.MedianUncertaintySeconds:F2} |");
    }

    private static void Line(StringBuilder page, FormattableString text) => page.Append(text.ToString(CultureInfo.InvariantCulture)).Append('\n');
}
