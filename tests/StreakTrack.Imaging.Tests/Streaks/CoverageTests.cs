using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Tests.Streaks;

public class CoverageTests
{
    private const double Sigma = 8;

    [Theory]
    [InlineData(0.3)]
    [InlineData(0.6)]
    [InlineData(0.8)]
    public void Exposures_shorter_than_a_period_are_told_by_their_jumping_ends(double periods)
    {
        ArcCoverage coverage = ArcCoverage.Of(Streaks(periods), Sigma);
        Assert.True(coverage.IsPartial);

        // A decay of 5 % over the neighbours, and ends that no neighbour reaches.
        Assert.Equal(500, coverage.CentrePx, 0.05 * 400);
        Assert.Equal(400 * Math.Exp(-0.5), coverage.HalfLengthPx[50], 0.1 * 400);
    }

    [Theory]
    [InlineData(1.0)]
    [InlineData(1.3)]
    public void Exposures_of_a_whole_period_are_not_taken_for_partial_ones(double periods) =>
        Assert.False(ArcCoverage.Of(Streaks(periods), Sigma).IsPartial);

    // Second differences of white noise of 0.3 px, stated as 0.1 px: the factor is 3, known to 10 % from 300 triples.
    [Fact]
    public void Understated_uncertainties_are_put_right_by_the_scatter_of_neighbours()
    {
        var random = new Random(5);
        var readings = new StreakReading[300];
        for (int k = 0; k < readings.Length; k++)
        {
            double half = (200 * Math.Exp(-k / 100.0)) + (0.3 * StreakTables.Normal(random));
            readings[k] = new StreakReading
            {
                Frame = k,
                TimeSeconds = k / 30.0,
                FirstEnd = new PicturePoint(400 - half, 10),
                SecondEnd = new PicturePoint(400 + half, 10),
                HalfLengthUncertaintyPx = 0.1,
            };
        }

        Assert.Equal(3, UncertaintyCheck.Scale(readings, 0.4), 0.45);

        // 0.3 of its own and 0.4 in common.
        Assert.Equal(0.5, readings[7].HalfLengthUncertaintyPx, 0.03);
    }

    // Threshold ends of a decaying swing of 37.3 Hz seen 60 times a second.
    private static CoarseStreak?[] Streaks(double periods)
    {
        var streaks = new CoarseStreak?[100];
        for (int k = 0; k < streaks.Length; k++)
        {
            double half = 400 * Math.Exp(-k / 100.0), start = 2 * Math.PI * 37.3 * k / 60.0;
            double low = 1, high = -1;
            for (int n = 0; n <= 400; n++)
            {
                double cos = Math.Cos(start + (2 * Math.PI * periods * n / 400));
                (low, high) = (Math.Min(low, cos), Math.Max(high, cos));
            }

            streaks[k] = new CoarseStreak(500 + (half * low) - (0.7 * Sigma), 500 + (half * high) + (0.7 * Sigma), 1, 1, 100, 0);
        }

        return streaks;
    }
}
