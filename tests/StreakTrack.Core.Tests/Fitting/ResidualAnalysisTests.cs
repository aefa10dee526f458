using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

public class ResidualAnalysisTests
{
    // Worked by hand: + + - - + - has 4 runs, 3 of each sign: expected 2*3*3/6 + 1 = 4, variance (4-1)(4-2)/5 = 1.2, z = 0.
    // Steps 0, 2, 0, 2, 2: squares 12 over 6 = 2. Lag products 1 - 1 + 1 - 1 - 1 = -1 over 6; lag 2: -1 - 1 - 1 + 1 = -2 over 6;
    // Q = 6*8 ((1/36)/5 + (4/36)/4) = 1.6. P(chi-square with 2 > 1.6) = exp(-0.8).
    [Fact]
    public void Six_residuals_give_the_statistics_worked_by_hand()
    {
        ResidualAnalysis result = ResidualAnalysis.Of([1, 1, -1, -1, 1, -1]);

        Assert.Equal((4, 2), (result.Runs, result.LjungBoxLags));
        Assert.Equal(4, result.ExpectedRuns, 1e-12);
        Assert.Equal(0, result.RunsZ, 1e-12);
        Assert.Equal(1, result.RunsProbability, 1e-12);
        Assert.Equal(2, result.DurbinWatson, 1e-12);
        Assert.Equal(-1.0 / 6, result.Lag1Correlation, 1e-12);
        Assert.Equal(1.6, result.LjungBox, 1e-12);
        Assert.Equal(Math.Exp(-0.8), result.LjungBoxProbability, 1e-12);
    }

    [Fact]
    public void Two_residuals_are_refused() => Assert.Throws<ArgumentException>(() => ResidualAnalysis.Of([1, 2]));
}
