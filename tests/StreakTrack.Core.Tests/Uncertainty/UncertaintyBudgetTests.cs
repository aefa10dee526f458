using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Tests.Uncertainty;

public class UncertaintyBudgetTests
{
    private static UncertaintyInput Input(double estimate, double u, double degrees = double.PositiveInfinity) =>
        new("x" + estimate, "", estimate, u) { DegreesOfFreedom = degrees };

    // Expected: derivatives of x² y / z by hand at (3, 4, 2): 2xy/z = 12, x²/z = 4.5, -x² y/z² = -9.
    [Fact]
    public void Sensitivities_are_the_derivatives_at_the_estimates()
    {
        var model = new MeasurementModel("test", "", [Input(3, 0.1), Input(4, 0.2), Input(2, 0.05)], v => v[0] * v[0] * v[1] / v[2]);
        UncertaintyBudget budget = UncertaintyBudget.From(model);
        Assert.Equal(18, budget.Estimate, 12);
        Assert.Equal([12, 4.5, -9], budget.Components.Select(c => Math.Round(c.Sensitivity, 9)));
        Assert.Equal(Math.Sqrt((1.2 * 1.2) + (0.9 * 0.9) + (0.45 * 0.45)), budget.CombinedStandardUncertainty, 9);
        Assert.Equal(1, budget.Components.Sum(c => c.Share), 12);
    }

    // Expected: JCGM 100:2008, 5.2.2 note 1: fully correlated inputs add linearly; opposite ones cancel.
    [Theory]
    [InlineData(1, 5)]
    [InlineData(-1, 1)]
    [InlineData(0, 3.605551275463989)]
    public void Correlated_contributions_add_with_their_covariance(double r, double expected)
    {
        var model = new MeasurementModel("sum", "", [Input(10, 3), Input(20, 2)], v => v[0] + v[1], [new(0, 1, r)]);
        Assert.Equal(expected, UncertaintyBudget.From(model).CombinedStandardUncertainty, 10);
    }

    // Expected: intercept and slope of one fit share its degrees of freedom, so any value that the line predicts has them too.
    [Fact]
    public void Parameters_of_one_fit_keep_the_degrees_of_freedom_of_the_fit()
    {
        var model = new MeasurementModel("line", "", [Input(-0.17, 0.003, 9), Input(0.002, 0.0007, 9)], v => v[0] + (10 * v[1]),
            [new(0, 1, -0.93)]);
        Assert.Equal(9, UncertaintyBudget.From(model).EffectiveDegreesOfFreedom, 9);
    }

    [Fact]
    public void Certain_inputs_give_a_certain_result()
    {
        UncertaintyBudget budget = UncertaintyBudget.From(new MeasurementModel("sum", "", [Input(1, 0, 3), Input(2, 0)], v => v[0] + v[1]));
        Assert.Equal(0, budget.CombinedStandardUncertainty);
        Assert.True(double.IsPositiveInfinity(budget.EffectiveDegreesOfFreedom));
        Assert.Equal(0, budget.ExpandedUncertainty);
        Assert.All(budget.Components, c => Assert.Equal(0, c.Share));
    }

    // Expected: JCGM 100:2008, 4.3.7: u = a/sqrt(3).
    [Fact]
    public void Limits_become_a_rectangular_distribution()
    {
        UncertaintyInput input = UncertaintyInput.WithinLimits("ruler", "mm", 0, 0.2);
        Assert.Equal(0.2 / Math.Sqrt(3), input.StandardUncertainty, 15);
        Assert.Equal(InputDistribution.Rectangular, input.Distribution);
    }

    [Fact]
    public void Contradictory_descriptions_are_refused()
    {
        UncertaintyInput[] two = [Input(1, 1), Input(2, 1)];
        static double Sum(ReadOnlySpan<double> v) => v[0] + v[1];
        Assert.Throws<ArgumentException>(() => new MeasurementModel("x", "", [], Sum));
        Assert.Throws<ArgumentException>(() => new MeasurementModel("x", "", two, Sum, [new(0, 0, 0.5)]));
        Assert.Throws<ArgumentException>(() => new MeasurementModel("x", "", two, Sum, [new(0, 2, 0.5)]));
        Assert.Throws<ArgumentException>(() => new MeasurementModel("x", "", two, Sum, [new(0, 1, 1.5)]));
        Assert.Throws<ArgumentException>(() => new MeasurementModel("x", "", two, Sum, [new(0, 1, double.NaN)]));
        Assert.Throws<ArgumentException>(() => new MeasurementModel("x", "", two, Sum, [new(0, 1, 0.5), new(1, 0, 0.5)]));
        Assert.Throws<ArgumentException>(
            () => new MeasurementModel("x", "", [two[0], UncertaintyInput.WithinLimits("r", "", 0, 1)], Sum, [new(0, 1, 0.5)]));
    }

    [Theory]
    [InlineData(double.NaN, 1)]
    [InlineData(1, -1)]
    [InlineData(1, double.NaN)]
    [InlineData(1, double.PositiveInfinity)]
    public void Inputs_must_be_numbers(double estimate, double u)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new UncertaintyInput("x", "", estimate, u));
    }

    [Fact]
    public void A_result_that_is_not_finite_is_refused()
    {
        var logarithm = new MeasurementModel("log", "", [Input(0, 1)], v => Math.Log(v[0]));
        var root = new MeasurementModel("root", "", [Input(0, 1)], v => Math.Sqrt(v[0]));
        Assert.Throws<ArgumentException>(() => UncertaintyBudget.From(logarithm));
        Assert.Throws<ArgumentException>(() => UncertaintyBudget.From(root));
    }
}
