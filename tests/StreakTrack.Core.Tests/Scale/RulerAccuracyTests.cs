using StreakTrack.Core.Scale;

namespace StreakTrack.Core.Tests.Scale;

public class RulerAccuracyTests
{
    // Directive 2014/32/EU, annex X, table of a and b; lengths round up to whole metres.
    [Theory]
    [InlineData(RulerAccuracyClass.None, 300, 0)]
    [InlineData(RulerAccuracyClass.I, 300, 0.2)]
    [InlineData(RulerAccuracyClass.II, 300, 0.5)]
    [InlineData(RulerAccuracyClass.III, 300, 1.0)]
    [InlineData(RulerAccuracyClass.II, 1000, 0.5)]
    [InlineData(RulerAccuracyClass.II, 1001, 0.7)]
    [InlineData(RulerAccuracyClass.III, -2500, 1.8)]
    [InlineData(RulerAccuracyClass.I, 0, 0.2)]
    public void Permissible_error_follows_the_directive(RulerAccuracyClass accuracyClass, double lengthMm, double expectedMm)
    {
        Assert.Equal(expectedMm, RulerAccuracy.MaximumPermissibleErrorMm(accuracyClass, lengthMm), 1e-12);
        Assert.Equal(expectedMm / Math.Sqrt(3), RulerAccuracy.StandardUncertaintyMm(accuracyClass, lengthMm), 1e-12);
    }

    [Fact]
    public void A_length_that_is_no_number_is_the_callers_fault() =>
        Assert.Throws<ArgumentOutOfRangeException>(() => RulerAccuracy.MaximumPermissibleErrorMm(RulerAccuracyClass.I, double.NaN));
}
