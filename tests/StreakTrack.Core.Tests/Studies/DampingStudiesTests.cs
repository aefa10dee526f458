using MathNet.Numerics.Distributions;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Tables;

namespace StreakTrack.Core.Tests.Studies;

public class DampingStudiesTests
{
    /// <summary>Runs at settings 0 to 4 whose rate is made by a function, with relative noise and scatter between runs.</summary>
    private static DampingRun[] Runs(
        Func<double, double> rate, int repeats = 3, double noise = 0.004, double between = 0, bool stated = true, int seed = 4)
    {
        var random = new Random(seed);
        return
        [
            .. Enumerable.Range(0, 9).Select(k => k / 2.0).SelectMany(s => Enumerable.Range(0, repeats).Select(_ =>
            {
                double r = rate(s) + (between * Normal.Sample(random, 0, 1));
                double tau = 1 / r * (1 + (noise * Normal.Sample(random, 0, 1)));
                return new DampingRun(s, tau, stated ? noise / r : double.NaN, 40);
            })),
        ];
    }

    // Expected: the parameters that made the runs, within three standard uncertainties; eddy currents damp with the square of the
    // current.
    [Fact]
    public void A_power_law_is_found_where_it_is_the_truth()
    {
        DampingStudy study = DampingStudies.Run(Runs(s => 0.4 + (0.02 * s * s)), new DampingOptions { SettingName = "current_a" });
        Assert.Equal("power-law", study.Trends[0].Model);
        AssertWithin(0.4, study.Trends[0].Parameters[0]);
        AssertWithin(0.02 * 16, study.Trends[0].Parameters[1]);
        AssertWithin(2, study.Trends[0].Parameters[2]);
        Assert.Contains("current_a", study.Statement, StringComparison.Ordinal);
        Assert.Equal(0, study.BetweenRunDeviationPerS, 0.002);
        Assert.DoesNotContain(study.Findings, f => f.Code == "runs-differ");
    }

    [Fact]
    public void A_line_is_preferred_where_it_is_enough()
    {
        DampingStudy study = DampingStudies.Run(Runs(s => 0.4 + (0.05 * s)));
        Assert.Equal("line", study.Trends[0].Model);
        AssertWithin(0.4, study.Trends[0].Parameters[0]);
        AssertWithin(0.05, study.Trends[0].Parameters[1]);
        Assert.Equal(3, study.Trends.Count);
    }

    [Fact]
    public void A_constant_is_preferred_where_nothing_changes()
    {
        DampingStudy study = DampingStudies.Run(Runs(_ => 0.4));
        Assert.Equal("constant", study.Trends[0].Model);
        Assert.Contains(study.Findings, f => f.Code == "no-effect-seen");
    }

    // Expected: 0.02 1/s scatter between runs was put in; 18 degrees of freedom leave the estimate 17 %, allowed: three of those.
    [Fact]
    public void Scatter_between_runs_is_found_and_enlarges_the_uncertainties()
    {
        DampingStudy study = DampingStudies.Run(Runs(s => 0.4 + (0.05 * s), between: 0.02));
        Assert.Equal(0.02, study.BetweenRunDeviationPerS, 0.01);
        Assert.Contains(study.Findings, f => f.Code == "runs-differ");
        Assert.All(study.Settings, s => Assert.True(s.RatePerS.StandardUncertainty > 0.005));
    }

    // Expected: solved with SciPy (brentq) for these six decay times: the variance that makes the weighted squares about the weighted
    // mean
    // equal 5, its root, the weighted mean and 1/sqrt(sum of weights), and the chi-square probability without it.
    [Fact]
    public void One_setting_gives_the_weighted_mean_of_Paule_and_Mandel()
    {
        double[] tau = [2.31, 2.36, 2.52, 2.40, 2.27, 2.44];
        double[] u = [0.02, 0.03, 0.02, 0.04, 0.03, 0.02];
        DampingStudy study = DampingStudies.Run([.. tau.Select((t, i) => new DampingRun(1, t, u[i]))]);
        Assert.Equal(0.015227522846886537, study.BetweenRunDeviationPerS, 1e-9);
        Assert.Equal(0.4197635359752707, study.Settings[0].RatePerS.Value, 1e-10);
        Assert.Equal(0.006526027535124257, study.Settings[0].RatePerS.StandardUncertainty, 1e-9);
        Assert.Equal(7.021306731067785e-16, study.BetweenRunProbability, 1e-20);
        Assert.Empty(study.Trends);
    }

    // Expected: NIST StRD analysis of variance, set SiRstv (resistivities by five instruments): certified residual standard deviation
    // 0.104076068334656 on 20 degrees of freedom. Data and value from memory; the certified within sum of squares, 0.216636560,
    // follows from
    // these data, which proves them. Fed in as rates; tolerance 1e-9 relative: 1/(1/x) of numbers near 196 whose scatter is 0.1.
    [Fact]
    public void Without_uncertainties_the_pooled_scatter_is_that_of_a_one_way_analysis_of_variance()
    {
        double[][] groups =
        [
            [196.3052, 196.1240, 196.1890, 196.2569, 196.3403], [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
            [196.1303, 196.2005, 196.2889, 196.0343, 196.1811], [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
            [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
        ];
        DampingStudy study = DampingStudies.Run([.. groups.SelectMany((g, i) => g.Select(x => new DampingRun(i, 1 / x)))]);
        Assert.Equal(0.104076068334656, study.BetweenRunDeviationPerS, 1e-10);
        Assert.All(study.Settings, s => Assert.Equal(0.104076068334656 / Math.Sqrt(5), s.RatePerS.StandardUncertainty, 1e-10));
        Assert.True(double.IsNaN(study.BetweenRunProbability));
    }

    [Fact]
    public void Q_and_damping_ratio_stand_beside_the_rate()
    {
        DampingStudy study = DampingStudies.Run([new(1, 2.0, 0.02, 40), new(1, 2.0, 0.02, 40), new(2, 1.0, 0.01)]);
        Assert.Equal(Math.PI * 40 * 2, study.Settings[0].QualityFactor!.Value.Value, 1e-9);
        Assert.Equal(1 / (2 * Math.PI * 40 * 2), study.Settings[0].DampingRatio!.Value.Value, 1e-12);
        Assert.Equal(0.01 / Math.Sqrt(2), study.Settings[0].TauSeconds.StandardUncertainty / 2, 1e-9);
        Assert.Null(study.Settings[1].QualityFactor);
        Assert.Contains("too few", study.Statement, StringComparison.Ordinal);
    }

    // 150 simulated studies: the share of 95 % intervals of the slope that hold the truth; binomial standard error 1.8 %, allowed: three.
    [Fact]
    public void The_interval_of_the_slope_keeps_its_promise()
    {
        int inside = Enumerable.Range(0, 150).Count(seed =>
        {
            DampingTrend line = DampingStudies.Run(Runs(s => 0.4 + (0.05 * s), between: 0.005, seed: seed)).Trends.Single(t => t.Model == "line");
            return line.Parameters[1].Wald95.Contains(0.05);
        });
        Assert.InRange(inside / 150.0, 0.896, 0.999);
    }

    [Fact]
    public void Runs_without_repeats_or_uncertainties_still_give_a_trend()
    {
        DampingStudy study = DampingStudies.Run(Runs(s => 0.4 + (0.05 * s), repeats: 1, stated: false));
        Assert.Equal("line", study.Trends[0].Model);
        Assert.True(study.Trends[0].IsScaled);
        Assert.True(double.IsNaN(study.BetweenRunDeviationPerS));
    }

    [Fact]
    public void Equal_rates_at_every_setting_are_no_trouble()
    {
        DampingStudy study = DampingStudies.Run([.. Enumerable.Range(0, 6).Select(i => new DampingRun(i, 2))]);
        Assert.Equal("constant", study.Trends[0].Model);
    }

    [Fact]
    public void A_table_is_read_with_its_setting()
    {
        CsvTable table = CsvTable.Parse("run,setting_mm,tau_s,tau_u_s,frequency_hz\n1,0.5,2.1,0.02,40\n2,0.6,2.0,,\n", "d.csv");
        IReadOnlyList<DampingRun> runs = DampingStudies.RunsFrom(table, out string name);
        Assert.Equal("setting_mm", name);
        Assert.Equal([new DampingRun(0.5, 2.1, 0.02, 40), new DampingRun(0.6, 2.0)], runs);
        DampingStudies.RunsFrom(table, out name, "run");
        Assert.Equal("run", name);
        Refuse("tau_s\n1\n", "d.csv line 1: there is no column setting");
        Refuse("setting,tau_s\n1,0\n", "d.csv line 2: the decay time");

        static void Refuse(string text, string words) => Assert.StartsWith(words, Assert.Throws<UnusableInputException>(
            () => DampingStudies.RunsFrom(CsvTable.Parse(text, "d.csv"), out _)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Unusable_runs_are_refused()
    {
        Assert.Throws<UnusableInputException>(() => DampingStudies.Run([]));
        Assert.Contains("run 2", Assert.Throws<UnusableInputException>(
            () => DampingStudies.Run([new(1, 2), new(1, double.NaN)])).Message, StringComparison.Ordinal);
        Assert.Contains("only 1 of 2", Assert.Throws<UnusableInputException>(
            () => DampingStudies.Run([new(1, 2, 0.1), new(1, 2)])).Message, StringComparison.Ordinal);
    }

    private static void AssertWithin(double truth, StudyParameter found) =>
        Assert.InRange((found.Value.Value - truth) / found.Value.StandardUncertainty, -3, 3);
}
