using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Tests.Streaks;

public class CoarseStreakTests
{
    private const double Sigma = 6;
    private static readonly ProfileNoise Noise = new(0.01, 0, 1);

    // 0.70 sigma is the universal edge's offset at half of its maximum (fixtures/reference: u = 0.6977); smoothing over half a sigma
    // to either
    // side and samples a sixth of a sigma apart allow a tenth.
    [Fact]
    public void Ends_at_half_brightness_lie_seven_tenths_of_a_sigma_outside()
    {
        CoarseStreak streak = Find(Light(new StreakShape(150, 250, 100, 0, 0, Sigma, 1)))!.Value;
        Assert.Equal(100 - (0.70 * Sigma), streak.FirstEndPx, 0.1 * Sigma);
        Assert.Equal(400 + (0.70 * Sigma), streak.SecondEndPx, 0.1 * Sigma);
        Assert.Equal(150, streak.InnerHalfLengthPx(Sigma), 0.1 * Sigma);
    }

    [Fact]
    public void Each_end_has_its_own_threshold()
    {
        // 1.3 periods from phase 0: the far end is painted as often as the near one; from -0.15 turns the near end twice.
        CoarseStreak streak = Find(Light(new StreakShape(150, 250, 100, 0, -0.15 * 2 * Math.PI, Sigma, 1.3)))!.Value;
        Assert.True(streak.SecondPeak > 1.6 * streak.FirstPeak);
        Assert.Equal(100 - (0.70 * Sigma), streak.FirstEndPx, 0.1 * Sigma);
        Assert.Equal(400 + (0.70 * Sigma), streak.SecondEndPx, 0.1 * Sigma);
    }

    [Theory]
    [InlineData(0.9, true)]
    [InlineData(0.2, false)]
    public void Two_stretches_about_as_bright_are_one_streak_in_pieces_and_a_faint_one_is_a_reflection(double second, bool inPieces)
    {
        float[] light = Light(new StreakShape(30, 120, 100, 0, 0, Sigma, 1));
        float[] other = Light(new StreakShape(30, 380, 100 * second, 0, 0, Sigma, 1));
        CoarseStreak streak = Find([.. light.Zip(other, (a, b) => a + b)])!.Value;
        Assert.Equal(120, streak.CentrePx, 0.1 * Sigma);
        Assert.Equal(inPieces, streak.IsInPieces);
    }

    [Fact]
    public void Gaps_across_ticks_are_bridged()
    {
        float[] light = Light(new StreakShape(150, 250, 100, 0, 0, Sigma, 1));
        for (int tick = 110; tick < 400; tick += 60)
            light.AsSpan(tick, 14).Clear();
        CoarseStreak streak = Find(light)!.Value;
        Assert.Equal(150, streak.InnerHalfLengthPx(Sigma), 0.15 * Sigma);
    }

    [Fact]
    public void A_middle_that_drowns_in_the_noise_does_not_part_the_ends()
    {
        var random = new Random(7);
        float[] light = Light(new StreakShape(230, 260, 100, 0, 0, Sigma, 1));
        for (int i = 0; i < light.Length; i++)
            light[i] += (float)(0.1 * StreakTables.Normal(random));
        CoarseStreak streak = CoarseStreak.Find(light, new ProfileNoise(0.1, 0, 1), Sigma, 0.5, double.NaN, new float[520])!.Value;
        Assert.Equal(230, streak.InnerHalfLengthPx(Sigma), 0.5 * Sigma);
    }

    [Fact]
    public void A_stray_spot_is_set_aside_where_the_streak_is_expected_elsewhere()
    {
        float[] light = Light(new StreakShape(40, 250, 30, 0, 0, Sigma, 1));
        StreakProfile.AddSpot(440, Sigma, 60, light, 0);
        CoarseStreak streak = CoarseStreak.Find(light, Noise, Sigma, 0.5, 250, new float[520])!.Value;
        Assert.Equal(250, streak.CentrePx, 1);
        
        // The threshold cuts off the spot's tails: 7 % of its peak lies 2.3 sigma out, 2 % of the light.
        Assert.Equal(60, streak.StrayLight, 3.0);
    }

    [Fact]
    public void Noise_alone_is_no_streak()
    {
        var random = new Random(11);
        float[] light = [.. Enumerable.Range(0, 520).Select(_ => (float)(0.01 * StreakTables.Normal(random)))];
        Assert.Null(Find(light));
    }

    private static CoarseStreak? Find(float[] light) => CoarseStreak.Find(light, Noise, Sigma, 0.5, double.NaN, new float[light.Length]);

    private static float[] Light(StreakShape shape)
    {
        var model = new StreakProfile();
        model.Evaluate(shape, StreakTables.Even(520), 0, 520);
        return model.Values[..520];
    }
}
