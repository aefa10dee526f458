using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Tests.Uncertainty;

public class MonteCarloPropagationTests
{
    private static readonly MonteCarloOptions Many = new() { Trials = 250_000, Seed = 20 };

    private static UncertaintyInput[] Four(InputDistribution distribution) =>
        [.. Enumerable.Range(0, 4).Select(i => new UncertaintyInput("x" + i, "", 0, 1) { Distribution = distribution })];

    private static double Sum(ReadOnlySpan<double> v)
    {
        double sum = 0;
        foreach (double x in v)
            sum += x;
        return sum;
    }

    // Expected: the additive model of JCGM 101:2008, 9.2. Normal inputs: u = 2, 95 % interval ±1.95996·2. Rectangular inputs: exact, from
    // the tail (4 - s)⁴/24 of the sum of four unit uniforms: 97.5 % quantile 3.1199, that is ±2 sqrt(3)(3.1199 - 2) = ±3.8794.
    // Triangular inputs have no closed form; only u = 2 is checked.
    // Tolerances: 5 standard errors of 250 000 trials: mean 0.02; u: 2/sqrt(5e5)·5 = 0.014; ends: sqrt(0.025·0.975/2.5e5)/density·5, about 0.06.
    [Theory]
    [InlineData(InputDistribution.Normal, 3.919928)]
    [InlineData(InputDistribution.Rectangular, 3.879415)]
    [InlineData(InputDistribution.Triangular, double.NaN)]
    public void A_sum_of_four_inputs_has_the_known_interval(InputDistribution distribution, double expectedEnd)
    {
        MonteCarloResult result = MonteCarloPropagation.Propagate(new MeasurementModel("sum", "", Four(distribution), Sum), Many);
        Assert.Equal(0, result.Estimate, 0.02);
        Assert.Equal(2, result.StandardUncertainty, 0.014);
        if (double.IsNaN(expectedEnd))
            return;
        Assert.Equal(expectedEnd, result.SymmetricInterval.High, 0.06);
        Assert.Equal(-expectedEnd, result.SymmetricInterval.Low, 0.06);
        Assert.Equal(2 * expectedEnd, result.ShortestInterval.Width, 0.1);
    }

    // Expected: X² of a standard normal X is chi-square with one degree of freedom. Quantiles 0.025 and 0.975: 0.00098207 and 5.02389;
    // its density falls from 0 on, so the shortest interval is 0 to the 95 % quantile 3.84146 (fixtures/uncertainty/quantiles.json).
    // Tolerances: five standard errors, 0.11 at the upper end (density there about 0.0144), 0.07 at the shortest one's.
    [Fact]
    public void A_skew_result_has_different_shortest_and_symmetric_intervals()
    {
        var model = new MeasurementModel("square", "", [new UncertaintyInput("x", "", 0, 1)], v => v[0] * v[0]);
        MonteCarloResult result = MonteCarloPropagation.Propagate(model, Many);
        Assert.Equal(0.00098207, result.SymmetricInterval.Low, 0.0002);
        Assert.Equal(5.02389, result.SymmetricInterval.High, 0.11);
        Assert.Equal(0, result.ShortestInterval.Low, 0.002);
        Assert.Equal(3.84146, result.ShortestInterval.High, 0.07);
        Assert.False(result.Validate(UncertaintyBudget.From(new MeasurementModel("square", "",
            [new UncertaintyInput("x", "", 0.01, 1)], v => v[0] * v[0]))).Confirmed);
    }

    // Expected: JCGM 101:2008, 6.4.9: a scaled and shifted t distribution; its 97.5 % quantile for 5 degrees of freedom is 2.5706.
    [Fact]
    public void Finite_degrees_of_freedom_give_a_t_distribution()
    {
        var input = new UncertaintyInput("x", "", 10, 0.5) { DegreesOfFreedom = 5 };
        MonteCarloResult result = MonteCarloPropagation.Propagate(new MeasurementModel("x", "", [input], v => v[0]), Many);
        // Five standard errors: sqrt(0.025·0.975/2.5e5)/0.0303·5 = 0.052 in units of 0.5.
        Assert.Equal(10 + (0.5 * 2.5706), result.SymmetricInterval.High, 0.026);
        Assert.True(result.Validate(UncertaintyBudget.From(new MeasurementModel("x", "", [input], v => v[0]))).Confirmed);
    }

    // Expected: u² = u1² + u2² + 2 r u1 u2. Tolerance: five standard errors of 250 000 trials.
    [Theory]
    [InlineData(1, 5)]
    [InlineData(-1, 1)]
    [InlineData(0.5, 4.358899)]
    public void Correlated_inputs_are_drawn_together(double r, double expected)
    {
        UncertaintyInput[] inputs = [new("a", "", 0, 3), new("b", "", 0, 2)];
        MonteCarloResult result = MonteCarloPropagation.Propagate(
            new MeasurementModel("sum", "", inputs, Sum, [new(0, 1, r)]), Many);
        Assert.Equal(expected, result.StandardUncertainty, 0.0072 * expected);
    }

    [Fact]
    public void The_same_seed_gives_the_same_numbers_and_another_does_not()
    {
        var model = new MeasurementModel("sum", "", Four(InputDistribution.Normal), Sum);
        var options = new MonteCarloOptions { Trials = 5000, Seed = 7 };
        MonteCarloResult first = MonteCarloPropagation.Propagate(model, options);
        Assert.Equal(first, MonteCarloPropagation.Propagate(model, options));
        Assert.NotEqual(first.Estimate, MonteCarloPropagation.Propagate(model, options with { Seed = 8 }).Estimate);
    }

    // Expected: JCGM 101:2008, 7.9: it goes on until twice the standard deviations of the averages are below half a unit of the last
    // digit.
    // With u = 2.0 two digits mean 0.05, which a batch of 10 000 (standard error of an end about 0.05) can't give; one digit means 0.5.
    [Fact]
    public void The_adaptive_procedure_works_as_long_as_the_digits_need()
    {
        var model = new MeasurementModel("sum", "", Four(InputDistribution.Normal), Sum);
        MonteCarloResult one = MonteCarloPropagation.Propagate(model, new MonteCarloOptions { SignificantDigits = 1 });
        MonteCarloResult two = MonteCarloPropagation.Propagate(model, new MonteCarloOptions { SignificantDigits = 2 });
        Assert.Equal(20_000, one.Trials);
        Assert.True(two.Trials > one.Trials);
        Assert.True(two.Settled);
        Assert.Equal(2, two.StandardUncertainty, 0.05);
        MonteCarloResult stopped = MonteCarloPropagation.Propagate(model, new MonteCarloOptions { MaxTrials = 20_000, Seed = 3 });
        Assert.Equal(20_000, stopped.Trials);
    }

    [Fact]
    public void Impossible_requests_are_refused()
    {
        var model = new MeasurementModel("sum", "", Four(InputDistribution.Normal), Sum);
        Assert.Throws<ArgumentException>(() => MonteCarloPropagation.Propagate(model, new MonteCarloOptions { Trials = 10 }));
        Assert.Throws<ArgumentException>(() => MonteCarloPropagation.Propagate(model, new MonteCarloOptions { CoverageProbability = 1 }));
        Assert.Throws<ArgumentException>(() => MonteCarloPropagation.Propagate(model, new MonteCarloOptions { SignificantDigits = 3 }));
        var contradictory = new MeasurementModel("sum", "", Four(InputDistribution.Normal), Sum,
            [new(0, 1, 0.9), new(1, 2, 0.9), new(0, 2, -0.9)]);
        Assert.Throws<ArgumentException>(() => MonteCarloPropagation.Propagate(contradictory));
        var undefined = new MeasurementModel("root", "", [new UncertaintyInput("x", "", 1, 1)], v => Math.Sqrt(v[0]));
        Assert.Throws<ArgumentException>(() => MonteCarloPropagation.Propagate(undefined));
    }

    [Fact]
    public void Work_can_be_cancelled()
    {
        var model = new MeasurementModel("sum", "", Four(InputDistribution.Normal), Sum);
        Assert.Throws<OperationCanceledException>(() => MonteCarloPropagation.Propagate(model, null, new CancellationToken(true)));
    }
}
