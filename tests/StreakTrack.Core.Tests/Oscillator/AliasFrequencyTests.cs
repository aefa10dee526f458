using StreakTrack.Core.Oscillator;

namespace StreakTrack.Core.Tests.Oscillator;

public class AliasFrequencyTests
{
    // Folding by definition: 36.7 Hz at 30 a second looks like 6.7 Hz, as 23.3, 53.3 and 66.7 Hz do.
    [Theory]
    [InlineData(6.7, 30, 36, 36.7)]
    [InlineData(6.7, 30, 25, 23.3)]
    [InlineData(6.7, 30, 61, 66.7)]
    [InlineData(6.7, 30, 3, 6.7)]
    [InlineData(23.6, 60, 36.4, 36.4)]
    [InlineData(3.0, 240, 3.1, 3.0)]
    public void The_frequency_nearest_to_the_expected_one_is_taken(double alias, double rate, double expected, double nearest) =>
        Assert.Equal(nearest, AliasFrequency.Nearest(alias, rate, expected), 1e-9);

    [Fact]
    public void A_rate_of_nothing_is_the_callers_mistake() =>
        Assert.Throws<ArgumentOutOfRangeException>(() => AliasFrequency.Nearest(1, 0, 10));
}
