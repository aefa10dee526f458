using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Tests.Streaks;

public class SceneTests
{
    private const int Length = 300;
    private const double Sigma = 5;

    private static readonly StripGeometry Strip =
        StripGeometry.Along(DisplayOrientation.Upright(Length, 120), new RulerAxis(new PicturePoint(0, 60), 1, 0), 35);

    // Two streaks about one middle: what both light up is what the shorter one lights up, and a margin of 3 + 1.5 times 1.5 sigma.
    [Fact]
    public void What_the_shortest_streak_lights_is_always_lit()
    {
        float[][] red = [Streak(110), Streak(30)];
        float[][] dark = [new float[red[0].Length], new float[red[0].Length]];
        bool[] always = AlwaysLit.Of(Strip, red, (dark, dark), Nothing(2), Sigma);
        Assert.All(Enumerable.Range(125, 51), i => Assert.True(always[i]));
        Assert.InRange(Array.IndexOf(always, true), 150 - 30 - 40, 150 - 30);
        Assert.InRange(Array.LastIndexOf(always, true), 150 + 30, 150 + 30 + 40);
    }

    [Fact]
    public void A_white_ruler_is_not_taken_for_light_of_the_laser()
    {
        float[] white = new float[Length * Strip.WidthPx];
        for (int i = 0; i < white.Length; i++)
            white[i] = i / Length is > 20 and < 50 ? 0.5f : 0.1f;
        float[] lit = [.. white];
        float[] streak = Streak(30);
        for (int i = 0; i < lit.Length; i++)
            lit[i] += streak[i];
        bool[] always = AlwaysLit.Of(Strip, [lit], ([white], [white]), Nothing(1), Sigma);
        Assert.True(always[150]);
        Assert.False(always[40]);
        Assert.False(always[260]);
    }

    // Six pictures of a white ruler; in the last one somebody stands before columns 60 to 119, and before half a column more on either side.
    [Fact]
    public void Who_stands_before_the_ruler_covers_all_colours_and_a_halo_that_goes_does_not()
    {
        float[][] white = [.. Enumerable.Range(0, 6).Select(_ => Lit(_ => 0.25f))];
        white[5] = Lit(i => i is >= 60 and < 120 ? 0.03f : i is 59 or 120 ? 0.245f : 0.25f);
        bool[] covered = CoveredColumns.Of(Strip, white, (white, white), Sigma)[5];
        Assert.Equal(Enumerable.Range(59, 62), Enumerable.Range(0, Length).Where(i => covered[i]));

        // The halo of a long streak, a tenth of it in the other primaries, lacks in the one picture of a short streak.
        float[][] red = [.. Enumerable.Range(0, 6).Select(k => Lit(i => 0.02f + (k < 5 && i is > 50 and < 250 ? 0.2f : 0)))];
        float[][] others = [.. Enumerable.Range(0, 6).Select(k => Lit(i => 0.02f + (k < 5 && i is > 50 and < 250 ? 0.02f : 0)))];
        Assert.DoesNotContain(true, CoveredColumns.Of(Strip, red, (others, others), Sigma).SelectMany(c => c));

        static float[] Lit(Func<int, float> column) => [.. Enumerable.Range(0, Length * Strip.WidthPx).Select(at => column(at % Length))];
    }

    [Fact]
    public void A_place_that_is_covered_in_one_frame_and_lit_in_all_others_is_always_lit()
    {
        float[][] red = [Streak(30), new float[Length * Strip.WidthPx]];
        float[][] dark = [new float[red[0].Length], new float[red[0].Length]];
        Assert.False(AlwaysLit.Of(Strip, red, (dark, dark), Nothing(2), Sigma)[150]);
        bool[] all = new bool[Length];
        Array.Fill(all, true);
        Assert.True(AlwaysLit.Of(Strip, red, (dark, dark), [new bool[Length], all], Sigma)[150]);
    }

    private static bool[][] Nothing(int frames) => [.. Enumerable.Range(0, frames).Select(_ => new bool[Length])];

    // By definition of the gain; the pull to 1 is 0.003^2 against the ticks' contrast, a thousandth.
    [Fact]
    public void A_brighter_exposure_is_told_by_the_rulers_contrast_and_not_by_glare()
    {
        float[] reference = new float[Length * 4], brighter = new float[Length * 4];
        for (int i = 0; i < reference.Length; i++)
        {
            reference[i] = i % 9 < 3 ? 0.1f : 0.4f;
            brighter[i] = (1.4f * reference[i]) + 0.2f;
        }

        Assert.Equal(1.4, SceneGain.Of(brighter, reference, [true, true, true, true], Length), 0.002);
    }

    [Fact]
    public void A_dark_scene_has_a_gain_of_one()
    {
        var random = new Random(3);
        float[] reference = [.. Enumerable.Range(0, Length * 4).Select(_ => (float)(1e-4 * StreakTables.Normal(random)))];
        Assert.Equal(1, SceneGain.Of(new float[Length * 4], reference, [true, true, true, true], Length), 0.01);
    }

    // Brightest samples of the two channels, against a white of 1; a tenth of the light leaks into the other one. At six times white, light
    // reaches white 1.9 sigma from the middle. The noise is a code of video in the dark.
    [Theory]
    // The weights of red and green in luma are those of ITU-R BT.709: what a codec leaves of colour differences spoils the other primaries of a green beam.
    [InlineData(0.5, 0.05, 0.2126, true)]
    [InlineData(6, 0.6, 0.2126, false)]
    [InlineData(0.9, 0.09, 0.7152, true)]
    [InlineData(1.5, 0.15, 0.7152, true)]
    public void The_channel_whose_ends_are_told_best_is_measured(double own, double other, double inLuma, bool ownWins)
    {
        float[][] red = [Noisy(own, 110), Noisy(own, 60), Noisy(own, 30)], green = [Noisy(other, 110), Noisy(other, 60), Noisy(other, 30)];
        float[] ambient = new float[red[0].Length];
        CoarseStreak?[] ends = StreakInformation.EndsOf(Strip, red, ambient, Sigma);
        Assert.Equal(ownWins, Information(red, null) > Information(green, (red, ambient, inLuma)));

        double Information(float[][] strips, (IReadOnlyList<float[]>, float[], double)? beam)
        {
            AcrossShape across = AcrossShape.Of(Strip, strips, ambient, Sigma, 0.95f);
            return StreakInformation.Of(Strip, strips, ambient, across, 0.95f, ends, beam);
        }

        float[] Noisy(double light, double halfLength)
        {
            var random = new Random((int)(1000 * light) + (int)halfLength);
            float[] samples = Streak(halfLength);
            double scale = light / samples.Max();
            for (int i = 0; i < samples.Length; i++)
                samples[i] = (float)Math.Min(1, (scale * samples[i]) + (0.001 * StreakTables.Normal(random)));
            return samples;
        }
    }

    // What is clipped looks two to three times as wide as it is; the columns beyond the ends are not, and are as wide as all others.
    [Fact]
    public void The_width_of_a_clipped_streak_comes_from_what_is_not_clipped()
    {
        float[][] strips = [.. new[] { 110.0, 60, 30 }.Select(h => Streak(h).Select(v => Math.Min(1, 60 * v)).ToArray())];
        Assert.All(strips, strip => Assert.Contains(1, strip));
        AcrossShape across = AcrossShape.Of(Strip, strips, new float[strips[0].Length], 2.5 * Sigma, 0.95f);
        Assert.Equal(Sigma, across.SigmaPx, 0.05 * Sigma);
    }

    private static float[] Streak(double halfLength)
    {
        float[] samples = new float[Length * Strip.WidthPx];
        var model = new StreakProfile();
        model.Evaluate(new StreakShape(halfLength, 150, 200, 0, 0, Sigma, 1), StreakTables.Even(Length), 0, Length);
        for (int j = 0; j < Strip.WidthPx; j++)
        {
            double t = (j - Strip.HalfWidthPx) / Sigma;
            for (int i = 0; i < Length; i++)
                samples[(j * Length) + i] = (float)(model.Values[i] * Math.Exp(-0.5 * t * t) / (Math.Sqrt(2 * Math.PI) * Sigma));
        }

        return samples;
    }
}
