using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Tests.Uncertainty;

public class RandomEffectsTests
{
    // JCGM 100:2008, H.5, table H.9 (values from memory; mean, s(V_j) and pooled s are those that the standard states: 10.000 097 V, 57 µV, 85 µV):
    // ten daily means of five observations each, in µV above 10 V, and the standard deviations of the observations of each day, in µV.
    private static readonly double[] DailyMeans = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41];
    private static readonly double[] DailyDeviations = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86];

    [Fact]
    public void The_analysis_of_variance_of_JCGM_100_comes_out()
    {
        const int observations = 5;
        double pooled = Math.Sqrt(DailyDeviations.Average(s => s * s));
        RandomEffects effects = RandomEffects.Of([.. DailyMeans.Select(m => new UncertainValue(m, pooled / Math.Sqrt(observations)))]);

        // The standard rounds s_a to 128 µV, s_b to 85 µV, s_B to 43 µV and u of the mean to 18 µV; half a unit of the last digit is allowed.
        Assert.Equal(85, pooled, 0.5);
        Assert.Equal(97, effects.Mean.Value, 0.5);
        Assert.Equal(43, effects.BetweenDeviation, 0.5);
        Assert.Equal(18, effects.Mean.StandardUncertainty, 0.5);
        Assert.Equal(9, effects.DegreesOfFreedom);
        // F = 2,25 lies between F0,95(9, 40) = 2,12 and F0,975(9, 40) = 2,45; with the variance within days known, chi-square takes F's place.
        Assert.InRange(effects.HomogeneityProbability, 0.01, 0.05);
    }

    [Fact]
    public void It_is_the_textbook_analysis_of_variance_when_all_runs_are_equally_certain()
    {
        double[] means = [3.1, 3.4, 2.9, 3.6];
        double u = 0.1, mean = means.Average(), s2 = means.Sum(m => (m - mean) * (m - mean)) / 3;

        RandomEffects effects = RandomEffects.Of([.. means.Select(m => new UncertainValue(m, u))]);

        Assert.Equal(Math.Sqrt(s2 - (u * u)), effects.BetweenDeviation, 1e-9);
        Assert.Equal(Math.Sqrt(s2 / 4), effects.Mean.StandardUncertainty, 1e-9);
    }

    [Fact]
    public void Runs_that_scatter_less_than_their_uncertainties_have_no_scatter_between_them()
    {
        RandomEffects effects = RandomEffects.Of([new(1.00, 0.1), new(1.01, 0.2), new(0.99, 0.1)]);

        Assert.Equal(0, effects.BetweenDeviation);
        Assert.Equal(1 / Math.Sqrt((2 / 0.01) + (1 / 0.04)), effects.Mean.StandardUncertainty, 1e-12);
    }

    [Fact]
    public void Of_many_simulated_instruments_the_scatter_comes_out_right_on_average()
    {
        var random = new Random(20260101);
        double Normal() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
        double between = 0.03;
        const int instruments = 4000, runs = 6;
        double sum = 0, inside = 0;
        for (int i = 0; i < instruments; i++)
        {
            UncertainValue[] taken = [.. Enumerable.Range(0, runs).Select(k => (k % 2 == 0) ? 0.003 : 0.009).Select(u => new UncertainValue(2 + (between * Normal()) + (u * Normal()), u))];
            RandomEffects effects = RandomEffects.Of(taken);
            sum += effects.BetweenDeviation * effects.BetweenDeviation;
            double k = CoverageFactor.TwoSided(0.95, effects.DegreesOfFreedom);
            double next = 2 + (between * Normal());
            double u2 = (effects.BetweenDeviation * effects.BetweenDeviation) + (effects.Mean.StandardUncertainty * effects.Mean.StandardUncertainty);
            inside += Math.Abs(next - effects.Mean.Value) <= k * Math.Sqrt(u2) ? 1 : 0;
        }

        // The runs are certain enough for the variance to stay above 0, where cutting it off would lift the mean.
        // Standard error of the mean variance: sqrt(2/5)/sqrt(4000) = 0.01 of it; four of them. Coverage: 4000 trials at 0.95 have a standard error of 0.0034.
        Assert.Equal(1, sum / instruments / (between * between), 0.04);
        Assert.InRange(inside / instruments, 0.93, 0.97);
    }

    [Fact]
    public void Missing_numbers_are_refused()
    {
        Assert.Throws<ArgumentException>(() => RandomEffects.Of([]));
        Assert.Throws<ArgumentException>(() => RandomEffects.Of([new(1, double.NaN)]));
        Assert.Throws<ArgumentException>(() => RandomEffects.Of([new(1, 0.1), new(2, 0)]));
    }
}
