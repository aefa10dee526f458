using StreakTrack.Core;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Validation.Uncertainty;

/// <summary>Worked examples of JCGM 100:2008 (the GUM), annex H, and its table of t factors.</summary>
public class WorkedExamplesTests
{
    private static UncertaintyInput Input(string name, double x, double u, double degrees = double.PositiveInfinity) =>
        new(name, "", x, u) { DegreesOfFreedom = degrees };

    // Example H.1, calibration of an end gauge. Inputs and the result 50 000 838(32) nm, with the contributions 25, 16.599 and 2.88679
    // nm:
    // documentation of the GTC library, page GUM H1 (seen). Degrees of freedom 18, 25.6, 50, 2 and the components 25, 9.7, 2.9, 16.6:
    // documentation of the R package propagate (seen). nu_eff = 16.7 (16.76 unrounded, fixtures/uncertainty/quantiles.json), t_99(16)
    // = 2.92 and
    // U = 93 nm: printed in H.1.6, from memory.
    [Fact]
    public void Example_H1_end_gauge()
    {
        var model = new MeasurementModel("length", "nm",
            [
                Input("standard", 50_000_623, 25, 18),
                Input("comparator", 215, 9.7, 25.6),
                Input("difference of expansion", 0, 1e-6 / Math.Sqrt(3), 50),
                Input("temperature", -0.1, 0.41),
                Input("expansion of the standard", 11.5e-6, 2e-6 / Math.Sqrt(3)),
                Input("difference of temperature", 0, 0.05 / Math.Sqrt(3), 2),
            ],
            v => v[0] + v[1] - (v[0] * ((v[2] * v[3]) + (v[4] * v[5]))));
        UncertaintyBudget budget = UncertaintyBudget.From(model, 0.99);

        Assert.Equal(50_000_838, budget.Estimate, 1e-6);
        double[] contributions = [.. budget.Components.Select(c => Math.Abs(c.Contribution))];
        // Printed to 5 or 6 digits; central differences at 5e7 nm leave about 1e-5 nm.
        Assert.Equal(25, contributions[0], 1e-4);
        Assert.Equal(2.88679, contributions[2], 2e-5);
        Assert.Equal(0, contributions[3], 1e-6);
        Assert.Equal(0, contributions[4], 1e-6);
        Assert.Equal(16.599, contributions[5], 5e-4);
        Assert.Equal(32, budget.CombinedStandardUncertainty, 0.5);
        // 16.7646 with the rounded component 16.6; 16.599 instead moves it by less than 0.01.
        Assert.Equal(16.7646, budget.EffectiveDegreesOfFreedom, 0.02);
        // The example rounds twice (32 nm, whole degrees of freedom): its 93 nm stands for 91 to 93.
        Assert.InRange(budget.ExpandedUncertainty, 91, 93.5);
        Assert.Equal("5.0000838(32) × 10⁷ nm", Notation.Concise(budget.Result, budget.Unit));
    }

    // Same example, the formula alone: u = 25, 9.7, 2.9, 16.6 with 18, 25.6, 50, 2 degrees give 16.76455398 (exact arithmetic of the
    // formula).
    [Fact]
    public void Example_H1_effective_degrees_of_freedom()
    {
        var model = new MeasurementModel("sum", "nm",
            [Input("a", 0, 25, 18), Input("b", 0, 9.7, 25.6), Input("c", 0, 2.9, 50), Input("d", 0, 16.6, 2)],
            v => v[0] + v[1] + v[2] + v[3]);
        Assert.Equal(16.76455398091716, UncertaintyBudget.From(model).EffectiveDegreesOfFreedom, 1e-9);
    }

    // Example H.2, resistance and reactance from correlated voltage, current and phase: inputs, correlations and R = 127.732(70),
    // X = 219.85(30), Z = 254.26(24): documentation of the GTC library, page GUM H2 (seen). Tolerance: half a unit of the last digit.
    [Fact]
    public void Example_H2_correlated_inputs()
    {
        UncertaintyInput[] inputs = [Input("V", 4.999, 3.2e-3), Input("I", 19.661e-3, 9.5e-6), Input("phi", 1.04446, 7.5e-4)];
        InputCorrelation[] correlations = [new(0, 1, -0.36), new(0, 2, 0.86), new(1, 2, -0.65)];
        UncertainValue Result(MeasurementFunction f) =>
            UncertaintyBudget.From(new MeasurementModel("impedance", "ohm", inputs, f, correlations)).Result;

        Assert.Equal("127.732(70)", Notation.Concise(Result(v => v[0] * Math.Cos(v[2]) / v[1])));
        Assert.Equal("219.85(30)", Notation.Concise(Result(v => v[0] * Math.Sin(v[2]) / v[1])));
        Assert.Equal("254.26(24)", Notation.Concise(Result(v => v[0] / v[1])));
    }

    // The same example by propagation of distributions: linear enough that both methods agree to the first digit of u.
    [Fact]
    public void Example_H2_is_confirmed_by_Monte_Carlo()
    {
        var model = new MeasurementModel("R", "ohm",
            [Input("V", 4.999, 3.2e-3), Input("I", 19.661e-3, 9.5e-6), Input("phi", 1.04446, 7.5e-4)],
            v => v[0] * Math.Cos(v[2]) / v[1], [new(0, 1, -0.36), new(0, 2, 0.86), new(1, 2, -0.65)]);
        MonteCarloResult result = MonteCarloPropagation.Propagate(model, new MonteCarloOptions { Trials = 300_000 });
        Assert.True(result.Validate(UncertaintyBudget.From(model)).Confirmed);
    }

    // Example H.3.4, predicted correction at 30 °C: -0.1494(41) °C from y1 = -0.1712(29), y2 = 0.00218(67), r = -0.930 with 9 degrees of
    // freedom: documentation of the GTC library, page GUM H3 (seen); unrounded inputs from the example's table by least squares.
    [Fact]
    public void Example_H3_prediction_of_a_calibration_line()
    {
        var model = new MeasurementModel("correction", "°C",
            [Input("y1", -0.17120379013135, 0.00287759783516, 9), Input("y2", 0.00218269773989, 0.00066793877323, 9)],
            v => v[0] + (10 * v[1]), [new(0, 1, -0.9304296030934458)]);
        UncertaintyBudget budget = UncertaintyBudget.From(model);
        Assert.Equal("-0.1494(41) °C", Notation.Concise(budget.Result, budget.Unit));
        // SciPy: 0.004138595752854942, and 2.2621571627409915 times it.
        Assert.Equal(0.004138595752854942, budget.CombinedStandardUncertainty, 1e-12);
        Assert.Equal(9, budget.EffectiveDegreesOfFreedom, 1e-9);
        Assert.Equal(0.009362154026010252, budget.ExpandedUncertainty, 1e-11);
    }

    // Table G.2, t factors for 68.27, 90, 95, 95.45, 99 and 99.73 %, printed with two or three decimals (from memory of the table;
    // the exact quantiles are checked against SciPy elsewhere). Tolerance: half a unit of the last printed digit.
    [Theory]
    [InlineData(1, 1.84, 6.31, 12.71, 13.97, 63.66, 235.80)]
    [InlineData(2, 1.32, 2.92, 4.30, 4.53, 9.92, 19.21)]
    [InlineData(5, 1.11, 2.02, 2.57, 2.65, 4.03, 5.51)]
    [InlineData(10, 1.05, 1.81, 2.23, 2.28, 3.17, 3.96)]
    [InlineData(20, 1.03, 1.72, 2.09, 2.13, 2.85, 3.42)]
    [InlineData(50, 1.01, 1.68, 2.01, 2.05, 2.68, 3.16)]
    [InlineData(double.PositiveInfinity, 1.000, 1.645, 1.960, 2.000, 2.576, 3.000)]
    public void Table_G2_of_t_factors(double degrees, double p68, double p90, double p95, double p9545, double p99, double p9973)
    {
        double tolerance = double.IsInfinity(degrees) ? 0.00051 : 0.0051;
        Assert.Equal(p68, CoverageFactor.TwoSided(0.6827, degrees), tolerance);
        Assert.Equal(p90, CoverageFactor.TwoSided(0.90, degrees), tolerance);
        Assert.Equal(p95, CoverageFactor.TwoSided(0.95, degrees), tolerance);
        Assert.Equal(p9545, CoverageFactor.TwoSided(0.9545, degrees), tolerance);
        Assert.Equal(p99, CoverageFactor.TwoSided(0.99, degrees), tolerance);
        // 99.73 % is itself rounded: near nu = 1 its last digit moves the factor by 0.4.
        Assert.Equal(p9973, CoverageFactor.TwoSided(0.9973, degrees), degrees < 2 ? 0.1 : tolerance);
    }
}
