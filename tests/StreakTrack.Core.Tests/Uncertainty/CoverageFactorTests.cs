using System.Globalization;
using System.Text.Json;
using StreakTrack.Core.Uncertainty;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Core.Tests.Uncertainty;

public class CoverageFactorTests
{
    // Expected: fixtures/uncertainty/quantiles.json (SciPy). The columns are one-sided probabilities; the first is the two-sided normal
    // one-sigma probability 0.682689492137086. Tolerance 1e-8 relative: the table's own error, which
    // reaches 3e-9 for four degrees of freedom; the digits beyond are held against exact values below.
    [Fact]
    public void Factors_agree_with_tabulated_quantiles()
    {
        using JsonDocument table = JsonDocument.Parse(File.ReadAllText(Fixtures.PathOf("uncertainty", "quantiles.json")));
        double[] probabilities = [0.682689492137086, 0.90, 0.95, 0.99];
        int rows = 0;
        foreach (JsonProperty row in table.RootElement.GetProperty("student_t").GetProperty("values").EnumerateObject())
        {
            double degrees = double.Parse(row.Name, CultureInfo.InvariantCulture);
            for (int k = 0; k < probabilities.Length; k++)
            {
                double expected = row.Value[k].GetDouble();
                Assert.Equal(expected, CoverageFactor.TwoSided(probabilities[k], degrees), 1e-8 * expected);
            }

            rows++;
        }

        Assert.Equal(19, rows);
    }

    // Expected: closed forms of the quantile: tan(pi p/2) for one degree of freedom, p sqrt(2/(1 - p²)) for two.
    [Theory]
    [InlineData(0.3)]
    [InlineData(0.6827)]
    [InlineData(0.95)]
    [InlineData(0.9973)]
    public void One_and_two_degrees_of_freedom_follow_their_closed_forms(double probability)
    {
        double one = Math.Tan(Math.PI * probability / 2);
        double two = probability * Math.Sqrt(2 / (1 - (probability * probability)));
        Assert.Equal(one, CoverageFactor.TwoSided(probability, 1), 1e-12 * one);
        Assert.Equal(two, CoverageFactor.TwoSided(probability, 2), 1e-12 * two);
    }

    // Expected: roots of the incomplete beta function with 30 digits (mpmath). Tolerance 1e-13 relative: rounding.
    [Theory]
    [InlineData(0.682689492137086, 3, 1.19688135440315645639)]
    [InlineData(0.90, 3, 2.3533634348018238776712)]
    [InlineData(0.95, 4, 2.77644510519779435780)]
    [InlineData(0.95, 9, 2.26215716279820554260777)]
    public void Other_degrees_of_freedom_follow_exact_values(double probability, double degrees, double expected)
    {
        Assert.Equal(expected, CoverageFactor.TwoSided(probability, degrees), 1e-13 * expected);
    }

    // Expected: the two-sided normal quantiles 1.959963984540054 and 2.575829303548901 (any handbook table, digits from SciPy).
    [Theory]
    [InlineData(0.95, 1.959963984540054)]
    [InlineData(0.99, 2.575829303548901)]
    public void Infinite_degrees_of_freedom_give_the_normal_factor(double probability, double expected)
    {
        Assert.Equal(expected, CoverageFactor.TwoSided(probability, double.PositiveInfinity), 1e-14);
        // The t quantile exceeds the normal one relatively by about (z² + 1)/(4 nu): below 2e-12 for 1e12 degrees.
        Assert.Equal(expected, CoverageFactor.TwoSided(probability, 1e12), 1e-11);
    }

    // Expected: interpolated by nobody: for nu = 16.76 the factor lies between those of 16 (2.9208) and 17 (2.8982), SciPy.
    [Fact]
    public void Degrees_of_freedom_need_not_be_whole() => Assert.InRange(CoverageFactor.TwoSided(0.99, 16.76), 2.8983, 2.9207);

    [Theory]
    [InlineData(0, 5)]
    [InlineData(1, 5)]
    [InlineData(double.NaN, 5)]
    [InlineData(0.95, 0)]
    [InlineData(0.95, double.NaN)]
    public void Impossible_arguments_are_refused(double probability, double degrees)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => CoverageFactor.TwoSided(probability, degrees));
    }

    // A strongly correlated fit can leave a small part of one degree of freedom. Checked by putting the factor back into the library's
    // distribution function, whose 8 digits the tolerance allows for.
    [Theory]
    [InlineData(0.9)]
    [InlineData(0.5)]
    [InlineData(0.2)]
    public void Below_one_degree_of_freedom_the_factor_still_leaves_the_stated_tails(double degreesOfFreedom)
    {
        double factor = CoverageFactor.TwoSided(0.95, degreesOfFreedom);

        Assert.Equal(0.05, 2 * MathNet.Numerics.Distributions.StudentT.CDF(0, 1, degreesOfFreedom, -factor), 1e-7);
    }

    [Fact]
    public void With_next_to_no_degrees_of_freedom_the_factor_is_infinite() =>
        Assert.Equal(double.PositiveInfinity, CoverageFactor.TwoSided(0.95, 1e-3));
}
