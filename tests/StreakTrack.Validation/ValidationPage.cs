using System.Globalization;
using System.Text;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.Random;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Tests.Shared;
using StreakTrack.Validation.EnvelopeFits;
using StreakTrack.Validation.LinearRegression;
using StreakTrack.Validation.NonlinearRegression;
using StreakTrack.Validation.Univariate;

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
        LinearAndUnivariate(page);
        References(page, progress);
        Published(page);
        Cost(page);
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

    private static void LinearAndUnivariate(StringBuilder page)
    {
        page.Append("""

            ## NIST Statistical Reference Datasets, linear regression and univariate statistics

            Correct digits of at most 15. Straight lines (Norris, NoInt1, NoInt2) by the fit of a line, polynomials by the least squares that every
            fit of the program goes through, started at zero; beside the worst coefficient that of a column-scaled QR factorisation and of
            `polyfit` with numpy 1.24.2. The points of Wampler1 and Wampler2 lie on their curves, so that the deviations are rounding noise.

            | set | coefficients | deviations | residual deviation | numpy QR | numpy polyfit |
            | --- | --- | --- | --- | --- | --- |

            """);
        Dictionary<(string, string), string[]> numpy = File.ReadLines(Fixtures.PathOf("nist-strd", "numpy-strd.csv"))
            .Where(line => line.Length > 0 && line[0] != '#' && !line.Contains('"', StringComparison.Ordinal)).Skip(1).Select(line => line.Split(','))
            .ToDictionary(cells => (cells[0], cells[1]), cells => cells[2..]);
        foreach ((string name, _) in StrdLinearSet.All)
        {
            (double coefficients, double deviations, double residual) = StrdLinearSet.Read(name).Score();
            string polyfit = numpy.TryGetValue((name, "numpy polyfit default"), out string[]? other) ? other[0] : "";
            Line(page, $"| {name} | {coefficients:F1} | {deviations:F1} | {residual:F1} | {numpy[(name, "float64 column-scaled QR")][0]} | {polyfit} |");
        }

        page.Append("""

            Of the univariate sets the tests of residuals use the correlation of neighbours; beside it a two-pass computation with numpy.

            | set | correlation | numpy |
            | --- | --- | --- |

            """);
        foreach ((string name, _) in StrdUnivariateSet.All)
            Line(page, $"| {name} | {StrdUnivariateSet.Read(name).Score():F1} | {numpy[(name, "float64 two-pass")][2]} |");
    }

    private static void Published(StringBuilder page)
    {
        page.Append("""

            ## Worked examples and measured data

            What was published or computed with other means, and what the program finds for it.

            | source | quantity | published | found |
            | --- | --- | --- | --- |

            """);
        foreach (PublishedValue value in PublishedValue.All)
            Line(page, $"| {value.Source} | {value.Quantity} | {value.Published} | {value.Found()} |");
    }

    private static void Cost(StringBuilder page)
    {
        var random = new Normal(0, 0.05, new MersenneTwister(Seed, threadSafe: false));
        var series = new AmplitudeSeries(Enumerable.Range(0, 600).Select(k => new AmplitudeSample
        {
            Frame = k, TimeSeconds = k / 60.0, AmplitudeMm = (45 * Math.Exp(-k / 60.0 / 2.1)) + random.Sample(), AmplitudeUncertaintyMm = 0.05,
        }));
        page.Append("""

            ## Cost

            Processor time on one core for a decay of 600 points, mean of 20 runs after 5 for the compiler. The same kernels with BenchmarkDotNet:
            `dotnet run --project tests/StreakTrack.Benchmarks -c Release -- --filter '*Fit*'`.

            | work | ms |
            | --- | --- |

            """);
        var named = new EnvelopeFitOptions { Model = "decay", CompareModels = false };
        Row("the model named: fit with profile intervals", () => EnvelopeFitter.Fit(EnvelopeData.FromSeries(series), named));
        Row("the model chosen: all models, intervals over the models, budgets", () => SeriesAnalyzer.Fit(series, new AnalysisOptions()));
        Row("the same with robustness table and a block bootstrap of 400 series",
            () => SeriesAnalyzer.Analyze(series, new AnalysisOptions { BootstrapReplicates = 400 }));

        void Row(string work, Action run)
        {
            const int warming = 5, runs = 20;
            TimeSpan begin = TimeSpan.Zero;
            for (int i = 0; i < warming + runs; i++)
            {
                if (i == warming)
                    begin = Environment.CpuUsage.TotalTime;
                run();
            }

            Line(page, $"| {work} | {(Environment.CpuUsage.TotalTime - begin).TotalMilliseconds / runs:F0} |");
        }
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

            The residual tests of `decay_ar1` agree with statsmodels 0.13.5.

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
            the model and then taking it for known is worst in between: the simpler model is kept often, and it is biased. Rises to 30 mm under a drive
            so little off resonance, or filmed for so short a time, that the beat hardly shows.

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
