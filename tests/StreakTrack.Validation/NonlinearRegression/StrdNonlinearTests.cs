using StreakTrack.Core.Fitting;

namespace StreakTrack.Validation.NonlinearRegression;

/// <summary>
/// NIST Statistical Reference Datasets, nonlinear regression: certified parameters, their standard deviations and residual sums of
/// squares, each set from both official starts, through the one door to the optimiser.
/// </summary>
public class StrdNonlinearTests
{
    public static TheoryData<string, int> SetsAndStarts()
    {
        var data = new TheoryData<string, int>();
        foreach (string name in StrdSet.Names)
        {
            data.Add(name, 1);
            data.Add(name, 2);
        }

        return data;
    }

    // The certified values carry 11 digits; half a unit of the last one is a log relative error of 10.3 for a leading digit of 1. Demanded
    // are 10 digits for the parameters and 8 for their standard deviations and the residual sum of squares. Lanczos1 was made without
    // noise and rounded to 14 digits: its residual sum is 1.4e-25, rounding noise of the data, so there only the parameters count.
    [Theory]
    [MemberData(nameof(SetsAndStarts))]
    public void Certified_values_are_reached_from_both_official_starts(string name, int start)
    {
        StrdSet set = StrdSet.Read(name);

        LeastSquaresResult result = set.Solve(start - 1);

        Assert.Equal(LeastSquaresStop.Converged, result.Stop);
        StrdScore score = StrdScore.Of(set, result);
        Assert.True(score.ParameterDigits >= 10, $"only {score.ParameterDigits:F2} digits in the worst parameter");
        if (name != "Lanczos1")
        {
            Assert.True(score.DeviationDigits >= 8, $"only {score.DeviationDigits:F2} digits in the worst standard deviation");
            Assert.True(score.ResidualSumDigits >= 8, $"only {score.ResidualSumDigits:F2} digits in the residual sum of squares");
        }
    }

    // A parameter that has no effect any more (exp(-large)) leaves a flat valley on which the sum of squares is stationary but no minimum.
    [Fact]
    public void A_start_on_a_plateau_is_not_called_converged()
    {
        StrdSet set = StrdSet.Read("BoxBOD");

        LeastSquaresResult result = NonlinearLeastSquares.Minimize(set.Residuals, set.Observations, [100, 1e4]);

        Assert.False(result.Converged);
    }

    [Fact]
    public void Too_few_iterations_are_not_called_converged()
    {
        StrdSet set = StrdSet.Read("MGH10");

        LeastSquaresResult result = NonlinearLeastSquares.Minimize(
            set.Residuals, set.Observations, set.Starts[0], new LeastSquaresOptions { MaxIterations = 3 });

        Assert.True(!result.Converged || StrdScore.Of(set, result).ParameterDigits >= 8, $"wrong answer called {result.Stop}");
    }
}
