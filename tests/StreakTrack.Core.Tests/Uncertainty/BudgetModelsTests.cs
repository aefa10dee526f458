using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Tests.Uncertainty;

public class BudgetModelsTests
{
    private static readonly TauBudgetInputs Tau = new()
    {
        TauSeconds = 2.4,
        FitUncertaintySeconds = 0.006,
        FitDegreesOfFreedom = 50,
        RobustnessHalfRangeSeconds = 0.01,
        ModelUncertaintySeconds = 0.004,
        TimeBaseRelativeLimit = 1e-3,
    };

    // Expected by hand: squares of 0.006, 0.01/sqrt3, 0.004 and 2.4e-3/sqrt3; only the fit has finite degrees of freedom, so
    // nu = 50 (u/0.006)⁴.
    [Fact]
    public void The_budget_of_tau_holds_fit_choices_and_time_base()
    {
        UncertaintyBudget budget = UncertaintyBudget.From(BudgetModels.Tau(Tau));
        double variance = (0.006 * 0.006) + (0.004 * 0.004) + (((0.01 * 0.01) + (0.0024 * 0.0024)) / 3);
        Assert.Equal(2.4, budget.Estimate, 10);
        Assert.Equal(Math.Sqrt(variance), budget.CombinedStandardUncertainty, 10);
        Assert.Equal(50 * variance * variance / Math.Pow(0.006, 4), budget.EffectiveDegreesOfFreedom, 6);
        Assert.Equal(
            ["fit", "choice of window, threshold and weights", "choice of the model", "time base of the camera"],
            budget.Components.Select(c => c.Input.Name));
    }

    [Fact]
    public void Parts_that_were_not_evaluated_are_not_listed()
    {
        UncertaintyBudget budget = UncertaintyBudget.From(BudgetModels.Tau(Tau with
        {
            RobustnessHalfRangeSeconds = null, ModelUncertaintySeconds = null, TimeBaseRelativeLimit = null,
        }));
        Assert.Equal(["fit"], budget.Components.Select(c => c.Input.Name));
        Assert.Equal(50, budget.EffectiveDegreesOfFreedom, 9);
        // t quantile for 50 degrees of freedom: fixtures/uncertainty/quantiles.json.
        Assert.Equal(2.008559109715206 * 0.006, budget.ExpandedUncertainty, 10);
    }

    // Expected: Q = pi f tau, relative variances of tau and frequency add.
    [Fact]
    public void The_budget_of_Q_adds_the_frequency()
    {
        double relativeTau = UncertaintyBudget.From(BudgetModels.Tau(Tau)).CombinedStandardUncertainty / 2.4;
        UncertaintyBudget budget = UncertaintyBudget.From(BudgetModels.QualityFactor(Tau, new UncertainValue(40, 0.2)));
        Assert.Equal(Math.PI * 40 * 2.4, budget.Estimate, 9);
        Assert.Equal(Math.Sqrt((relativeTau * relativeTau) + (0.005 * 0.005)), budget.CombinedStandardUncertainty / budget.Estimate, 10);
        Assert.Equal("frequency", budget.Components[^1].Input.Name);
    }

    // Expected: small angles: relative variances of amplitude, scale, ruler and distance add; half the ruler's limit for the whole streak
    // goes to the amplitude. Tolerance 0.2 %: atan against its slope at 2 theta = 0.03 is (0.03)² = 0.09 %.
    [Fact]
    public void The_budget_at_the_mirror_holds_each_part_once()
    {
        UncertaintyBudget budget = UncertaintyBudget.From(BudgetModels.MirrorAmplitude(new MirrorAmplitudeBudgetInputs
        {
            AmplitudeMm = 30,
            AmplitudeUncertaintyMm = 0.1,
            LengthOffsetUncertaintyMm = 0.15,
            SwitchTimeUncertaintyMm = 0.12,
            ScaleRelativeUncertainty = 0.002,
            ScaleDegreesOfFreedom = 4,
            RulerMaximumErrorMm = 0.5,
            Lever = new OpticalLever(new UncertainValue(1000, 5)),
        }));
        double relative = Math.Sqrt(((0.01 + 0.0225 + 0.0144) / 900) + Math.Pow(0.002, 2) + (Math.Pow(0.25 / 30, 2) / 3) + Math.Pow(0.005, 2));
        Assert.Equal(500 * Math.Atan(0.03), budget.Estimate, 10);
        Assert.Equal(relative, budget.CombinedStandardUncertainty / budget.Estimate, 0.002 * relative);

        // Geometry that nobody stated is no input.
        Assert.Equal(
            ["amplitude on the ruler", "distance from mirror to ruler", "offset common to all lengths", "time of the switch", "pixel scale", "ruler"],
            budget.Components.Select(c => c.Input.Name));
    }

    // The budgets are nearly linear, so the propagation of distributions has to confirm them to one digit (JCGM 101:2008, 8).
    [Fact]
    public void Monte_Carlo_confirms_the_budgets()
    {
        var options = new MonteCarloOptions { Trials = 100_000 };
        MeasurementModel[] models =
        [
            BudgetModels.Tau(Tau),
            BudgetModels.QualityFactor(Tau, new UncertainValue(40, 0.2), FrequencyMeaning.Damped),
            BudgetModels.MirrorAmplitude(new MirrorAmplitudeBudgetInputs
            {
                AmplitudeMm = 30,
                AmplitudeUncertaintyMm = 0.2,
                AmplitudeDegreesOfFreedom = 60,
                RulerMaximumErrorMm = 0.2,
                Lever = new OpticalLever(new UncertainValue(1000, 5), new UncertainValue(0.1, 0.01), new UncertainValue(0, 0.02)),
            }),
        ];
        Assert.All(models, model => Assert.True(
            MonteCarloPropagation.Propagate(model, options).Validate(UncertaintyBudget.From(model)).Confirmed, model.Quantity));
    }

    [Fact]
    public void Values_that_are_not_positive_are_refused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => BudgetModels.Tau(Tau with { TauSeconds = double.NaN }));
        Assert.Throws<ArgumentOutOfRangeException>(() => BudgetModels.QualityFactor(Tau, new UncertainValue(0, 0)));
    }
}
