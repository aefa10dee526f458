using System.Globalization;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Tests.Uncertainty;

public class NotationTests
{
    // Expected: written by hand after JCGM 100:2008, 7.2.2 (the two forms) and 7.2.6 (at most two digits, result rounded to match).
    // 100.02147 g with 0.35 mg is that document's own example (from memory).
    [Theory]
    [InlineData(100.02147, 0.00035, "g", "100.02147(35) g", "(100.02147 ± 0.00035) g")]
    [InlineData(2.40312, 0.00567, "s", "2.4031(57) s", "(2.4031 ± 0.0057) s")]
    [InlineData(173.2671, 1.118, "", "173.3(1.1)", "173.3 ± 1.1")]
    [InlineData(173.2671, 11.18, "", "173(11)", "173 ± 11")]
    [InlineData(173.2671, 99.6, "", "1.7(1.0) × 10²", "(1.7 ± 1.0) × 10²")]
    [InlineData(1234567, 7800, "Hz", "1.2346(78) × 10⁶ Hz", "(1.2346 ± 0.0078) × 10⁶ Hz")]
    [InlineData(3.14e-5, 2.2e-6, "m", "3.14(22) × 10⁻⁵ m", "(3.14 ± 0.22) × 10⁻⁵ m")]
    [InlineData(9.9996, 0.012, "s", "10.000(12) s", "(10.000 ± 0.012) s")]
    [InlineData(0.99996, 0.00996, "s", "1.000(10) s", "(1.000 ± 0.010) s")]
    [InlineData(-0.0004, 0.012, "mm", "0.000(12) mm", "(0.000 ± 0.012) mm")]
    [InlineData(-1.5, 0.2, "mm", "-1.50(20) mm", "(-1.50 ± 0.20) mm")]
    [InlineData(0, 0.02, "mm", "0.000(20) mm", "(0.000 ± 0.020) mm")]
    [InlineData(0.4, 12, "", "0(12)", "0 ± 12")]
    [InlineData(0, 1e-9, "", "0.0(1.0) × 10⁻⁹", "(0.0 ± 1.0) × 10⁻⁹")]
    public void The_uncertainty_has_two_digits_and_the_value_ends_with_it(double x, double u, string unit, string concise, string plusMinus)
    {
        Assert.Equal(concise, Notation.Concise(new(x, u), unit));
        Assert.Equal(plusMinus, Notation.PlusMinus(new(x, u), unit));
    }

    [Theory]
    [InlineData(2.40312345, double.NaN, "2.40312 s")]
    [InlineData(2.40312345, double.PositiveInfinity, "2.40312 s")]
    [InlineData(2.40312345, 0, "2.40312 s")]
    [InlineData(1e300, 1e-300, "1 × 10³⁰⁰ s")]
    [InlineData(2.5e-7, 0, "2.5 × 10⁻⁷ s")]
    [InlineData(0, 0, "0 s")]
    [InlineData(double.NaN, 0.1, "not known")]
    [InlineData(double.PositiveInfinity, 0.1, "∞ s")]
    public void Without_a_usable_uncertainty_none_is_written(double x, double u, string expected)
    {
        Assert.Equal(expected, Notation.Concise(new(x, u), "s"));
        Assert.Equal(expected, Notation.PlusMinus(new(x, u), "s"));
    }

    [Theory]
    [InlineData(2.39199, 2.41401, "2.3920 to 2.4140 s")]
    [InlineData(2.0, double.PositiveInfinity, "above 2 s")]
    [InlineData(double.NaN, 3.25, "below 3.25 s")]
    [InlineData(double.NaN, double.NaN, "not known")]
    public void Intervals_are_rounded_by_their_width_and_can_be_open(double low, double high, string expected)
    {
        Assert.Equal(expected, Notation.Interval(new CoverageInterval(low, high), "s"));
    }

    [Theory]
    [InlineData(0.012345, 3, "0.0123")]
    [InlineData(1.2345e-8, 3, "1.23 × 10⁻⁸")]
    [InlineData(12345.6, 3, "12300")]
    [InlineData(9.996, 3, "10.0")]
    [InlineData(-4.5e12, 2, "-4.5 × 10¹²")]
    [InlineData(0, 3, "0")]
    [InlineData(double.NaN, 3, "not known")]
    public void Bare_numbers_have_the_digits_asked_for(double x, int digits, string expected)
    {
        Assert.Equal(expected, Notation.Number(x, digits));
    }

    [Fact]
    public void A_decimal_comma_of_the_system_does_not_reach_the_text()
    {
        CultureInfo before = CultureInfo.CurrentCulture;
        try
        {
            var comma = (CultureInfo)CultureInfo.InvariantCulture.Clone();
            comma.NumberFormat.NumberDecimalSeparator = ",";
            CultureInfo.CurrentCulture = comma;
            Assert.Equal("2.4031(57) s", Notation.Concise(new(2.40312, 0.00567), "s"));
            Assert.Equal("(2.4031 ± 0.0057) s", Notation.PlusMinus(new(2.40312, 0.00567), "s"));
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }
}
