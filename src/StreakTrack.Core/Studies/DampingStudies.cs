using MathNet.Numerics;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Tables;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>Finds how the damping depends on a setting, from decays at several settings.</summary>
/// <remarks>
/// Scatter between runs: one-way random effects (<see cref="RandomEffects"/>), pooled over the settings.
/// </remarks>
public static class DampingStudies
{
    private const double SuspectProbability = 0.01;

    /// <summary>A curve with more parameters must be better by this much in Akaike's criterion to be preferred.</summary>
    private const double NeededGain = 2;

    /// <summary>Settings that a curve needs beyond its parameters.</summary>
    private const int SpareSettings = 2;

    /// <summary>
    /// Reads the runs of a table with the columns <c>tau_s</c>, a setting (by default the column <c>setting</c> or one that begins with
    /// <c>setting_</c> and ends with its unit) and, where known, <c>tau_u_s</c> and <c>frequency_hz</c>.
    /// </summary>
    /// <param name="table">The table.</param>
    /// <param name="settingName">Receives the name of the setting's column.</param>
    /// <param name="settingColumn">Name of the column with the setting; null to find it.</param>
    /// <exception cref="UnusableInputException">A column is missing or a cell is no number; the message names the line.</exception>
    public static IReadOnlyList<DampingRun> RunsFrom(CsvTable table, out string settingName, string? settingColumn = null)
    {
        settingName = settingColumn
            ?? table.Columns.FirstOrDefault(c => c.StartsWith("setting_", StringComparison.OrdinalIgnoreCase)) ?? "setting";
        int setting = table.Require(settingName, "the setting");
        int tau = table.Require("tau_s", "the decay time in s");
        int uncertainty = table.IndexOf("tau_u_s");
        int frequency = table.IndexOf("frequency_hz");
        var runs = new DampingRun[table.RowCount];
        for (int row = 0; row < runs.Length; row++)
        {
            runs[row] = new DampingRun(table.RequiredNumber(row, setting), table.RequiredNumber(row, tau), table.Uncertainty(row, uncertainty),
                table.Number(row, frequency));
            if (!(runs[row].TauSeconds > 0) || runs[row].FrequencyHz <= 0)
            {
                throw new UnusableInputException(table.NameOfRow(row), "the decay time or the frequency is not positive",
                    "Correct it or delete the row.");
            }
        }

        return runs;
    }

    /// <summary>Runs the study.</summary>
    /// <param name="runs">The decays, at least one, in any order; decays at exactly the same setting are taken together.</param>
    /// <param name="options">Settings; null for the defaults.</param>
    /// <param name="subject">What messages call the data.</param>
    /// <param name="cancellation">Ends the work.</param>
    /// <exception cref="UnusableInputException">No runs, numbers out of range, or uncertainties for some runs only.</exception>
    public static DampingStudy Run(
        IReadOnlyList<DampingRun> runs, DampingOptions? options = null, string subject = "the runs", CancellationToken cancellation = default)
    {
        options ??= new DampingOptions();
        bool stated = Check(runs, subject);
        DampingRun[][] groups = [.. runs.GroupBy(r => r.Setting).OrderBy(g => g.Key).Select(g => g.ToArray())];
        int repeats = runs.Count - groups.Length;
        UncertainValue[][] rates = Rates(groups);
        double between2 = repeats > 0 ? BetweenRunVariance(rates, stated, repeats) : double.NaN;
        double scatter = repeats > 0 && stated ? RandomEffects.WeightedSquares(rates, 0) : double.NaN;
        double probability = repeats > 0 && stated ? SpecialFunctions.GammaUpperRegularized(repeats / 2.0, scatter / 2) : double.NaN;

        var findings = new List<Finding>();
        if (probability < SuspectProbability)
        {
            findings.Add(FindingKinds.RunsDiffer.With(
                $"Decays at one setting differ by {Notation.Number(Math.Sqrt(between2), 2)} 1/s (one standard deviation) more than their "
                + "uncertainties allow; this scatter was added to every run."));
        }

        DampingSetting[] settings = [.. groups.Select(g => Together(g, stated, double.IsNaN(between2) ? 0 : between2, repeats, options))];
        IReadOnlyList<DampingTrend> trends = Trends(settings, cancellation);
        string statement = trends.Count > 0 ? Describe(trends[0], options.SettingName)
            : $"{settings.Length} settings are too few for a trend; three are needed.";
        if (trends.Count > 0)
        {
            DampingTrend best = trends[0];
            if (best.ChiSquareProbability < SuspectProbability)
            {
                findings.Add(FindingKinds.ScatterExceedsUncertainty.With(
                    $"The settings' means scatter {Notation.Number(Math.Sqrt(best.ChiSquare / best.DegreesOfFreedom), 2)} times as far about "
                    + "the best curve as their uncertainties allow."));
            }

            if (best.Model == "constant")
            {
                findings.Add(FindingKinds.NoEffectSeen.With(
                    $"The damping rate does not change with the {options.SettingName} within its uncertainty."));
            }
        }

        return new DampingStudy
        {
            SettingName = options.SettingName,
            Runs = [.. runs],
            Settings = settings,
            BetweenRunDeviationPerS = Math.Sqrt(between2),
            BetweenRunProbability = probability,
            Trends = trends,
            Statement = statement,
            Findings = [.. findings.OrderByDescending(f => f.Severity)],
        };
    }

    private static bool Check(IReadOnlyList<DampingRun> runs, string subject)
    {
        if (runs.Count == 0)
            throw new UnusableInputException(subject, "there is no run", "Measure a decay at several settings.");
        int stated = 0;
        for (int i = 0; i < runs.Count; i++)
        {
            DampingRun run = runs[i];
            if (!Magnitude.IsUsable(run.Setting) || !(run.TauSeconds > 0 && Magnitude.IsUsable(run.TauSeconds)))
                throw Bad(i, "the setting is missing, or the decay time is not positive or out of all range");
            if (!IsPositiveOrMissing(run.TauUncertaintySeconds))
                throw Bad(i, "the standard uncertainty of the decay time is not positive or out of all range");
            if (!IsPositiveOrMissing(run.FrequencyHz))
                throw Bad(i, "the frequency is not positive or out of all range");
            stated += double.IsNaN(run.TauUncertaintySeconds) ? 0 : 1;
        }

        return stated == 0 || stated == runs.Count
            ? stated > 0
            : throw new UnusableInputException(subject, $"only {stated} of {runs.Count} runs have an uncertainty",
                "State one for every run or for none.");

        static bool IsPositiveOrMissing(double value) => double.IsNaN(value) || (value > 0 && Magnitude.IsUsable(value));

        UnusableInputException Bad(int i, string problem) => new($"{subject}, run {i + 1}", problem, "Correct it or leave it out.");
    }

    private static double Rate(DampingRun run) => 1 / run.TauSeconds;

    /// <summary>Variance of the rate of one run: u(1/tau)² = (u(tau)/tau²)².</summary>
    private static double Variance(DampingRun run) => Math.Pow(run.TauUncertaintySeconds / (run.TauSeconds * run.TauSeconds), 2);

    private static UncertainValue[][] Rates(DampingRun[][] groups) =>
        [.. groups.Select(g => g.Select(r => new UncertainValue(Rate(r), Math.Sqrt(Variance(r)))).ToArray())];

    private static double BetweenRunVariance(UncertainValue[][] rates, bool stated, int repeats) => stated
        ? RandomEffects.BetweenVariance(rates)
        : rates.Sum(g => g.Sum(r => Math.Pow(r.Value - g.Average(one => one.Value), 2))) / repeats;

    private static DampingSetting Together(DampingRun[] group, bool stated, double between2, int repeats, DampingOptions options)
    {
        double[] weights = [.. group.Select(r => stated ? 1 / (Variance(r) + between2) : 1)];
        double sum = weights.Sum();
        double mean = group.Select((r, i) => weights[i] * Rate(r)).Sum() / sum;
        double u = stated ? 1 / Math.Sqrt(sum) : repeats > 0 ? Math.Sqrt(between2 / group.Length) : double.NaN;
        double scatter = group.Length > 1
            ? Math.Sqrt(group.Sum(r => Math.Pow(Rate(r) - group.Average(Rate), 2)) / (group.Length - 1)) : double.NaN;
        var tau = new UncertainValue(1 / mean, u / (mean * mean));
        double[] hz = [.. group.Select(r => r.FrequencyHz).Where(double.IsFinite)];
        double frequency = hz.Length > 0 ? hz.Average() : double.NaN;
        OscillatorQuantities? quantities = hz.Length > 0
            ? OscillatorQuantities.From(tau, new UncertainValue(frequency, 0), options.FrequencyMeaning) : null;
        return new DampingSetting(group[0].Setting, group.Length, new UncertainValue(mean, u), scatter, tau, frequency,
            quantities?.QualityFactor, quantities?.DampingRatio);
    }

    private static IReadOnlyList<DampingTrend> Trends(DampingSetting[] settings, CancellationToken cancellation)
    {
        if (settings.Length < 3)
            return [];

        double[] x = [.. settings.Select(s => s.Setting)];
        double[] y = [.. settings.Select(s => s.RatePerS.Value)];
        double[]? u = settings.All(s => s.RatePerS.StandardUncertainty > 0) ? [.. settings.Select(s => s.RatePerS.StandardUncertainty)] : null;
        double largest = x.Max();
        List<(string Model, CurveFunction Curve, double[][] Starts)> candidates =
        [
            ("constant", Constant, [[y.Average()]]),
            ("line", Line, [[y.Average(), 0]]),
        ];
        if (x[0] >= 0 && largest > 0 && x.Length >= 3 + SpareSettings)
            candidates.Add(("power-law", PowerLaw, [.. new[] { 0.5, 1, 2, 3 }.Select(p => new[] { y[0], y[^1] - y[0], p })]));

        List<(string Model, CurveFit Fit)> fits = FitAll(UncertaintyScaling.Absolute);
        // Where even the richest curve leaves too much, the uncertainties are too small, and only their ratios can tell curves apart.
        bool known = u is not null && !(fits[^1].Fit.ChiSquareProbability < CurveFit.ScatterBeyond);
        if (!known)
            fits = FitAll(UncertaintyScaling.Scaled);

        // Simple to rich: the next one wins only by a clear margin.
        (string Model, CurveFit Fit) best = fits[0];
        foreach ((string Model, CurveFit Fit) next in fits.Skip(1))
        {
            if (next.Fit.Aicc(known) < best.Fit.Aicc(known) - NeededGain)
                best = next;
        }

        return
        [
            .. fits.OrderBy(f => f == best ? 0 : 1).ThenBy(f => f.Fit.Aicc(known))
                .Select(f => new DampingTrend(f.Fit, known) { Model = f.Model, Parameters = Parameters(f.Model, f.Fit) }),
        ];

        List<(string Model, CurveFit Fit)> FitAll(UncertaintyScaling scaling)
        {
            var found = new List<(string Model, CurveFit Fit)>();
            foreach ((string model, CurveFunction curve, double[][] starts) in candidates)
            {
                if (CurveFit.From(curve, x, y, u, starts, scaling, cancellation) is CurveFit fit)
                    found.Add((model, fit));
            }

            return found;
        }

        StudyParameter[] Parameters(string model, CurveFit fit)
        {
            (string Name, string Meaning)[] names = model switch
            {
                "constant" => [("rate_at_zero_per_s", "damping rate at every setting")],
                "line" => [("rate_at_zero_per_s", "damping rate at setting zero"), ("slope_per_s", "damping rate per unit of the setting")],
                _ =>
                [
                    ("rate_at_zero_per_s", "damping rate at setting zero"), ("rise_per_s", "what the largest setting adds to it"),
                    ("exponent", "power of the setting"),
                ],
            };
            return [.. names.Select((n, i) => fit.Parameter(i, n.Name, n.Meaning, cancellation))];
        }

        static double Constant(double at, ReadOnlySpan<double> p, Span<double> gradient)
        {
            if (!gradient.IsEmpty)
                gradient[0] = 1;
            return p[0];
        }

        static double Line(double at, ReadOnlySpan<double> p, Span<double> gradient)
        {
            if (!gradient.IsEmpty)
                (gradient[0], gradient[1]) = (1, at);
            return p[0] + (p[1] * at);
        }

        double PowerLaw(double at, ReadOnlySpan<double> p, Span<double> gradient)
        {
            if (!(p[2] > 0))
                return double.NaN;
            double power = Math.Pow(at / largest, p[2]);
            if (!gradient.IsEmpty)
                (gradient[0], gradient[1], gradient[2]) = (1, power, at > 0 ? p[1] * power * Math.Log(at / largest) : 0);
            return p[0] + (p[1] * power);
        }
    }

    private static string Describe(DampingTrend trend, string setting)
    {
        UncertainValue Value(int i) => trend.Parameters[i].Value;
        return trend.Model switch
        {
            "constant" => $"The damping rate is {Notation.Concise(Value(0), "1/s")} at every {setting}.",
            "line" => $"The damping rate follows a straight line: {Notation.Concise(Value(0), "1/s")} at {setting} 0, changing by "
                + $"{Notation.Concise(Value(1), "1/s")} per unit.",
            _ => $"The damping rate follows a power law: {Notation.Concise(Value(0), "1/s")} at {setting} 0, rising by "
                + $"{Notation.Concise(Value(1), "1/s")} to the largest {setting} with the exponent {Notation.Concise(Value(2))}.",
        };
    }
}
