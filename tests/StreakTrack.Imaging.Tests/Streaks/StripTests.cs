using StreakTrack.Core;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Tests.Streaks;

public class StripTests
{
    [Fact]
    public void A_strip_runs_from_edge_to_edge_toward_increasing_readings()
    {
        DisplayOrientation upright = DisplayOrientation.Upright(200, 100);
        StripGeometry strip = StripGeometry.Along(upright, new RulerAxis(new PicturePoint(150, 40), -1, 0), 5);
        Assert.Equal(200, strip.LengthPx);
        Assert.Equal(new PicturePoint(199, 40), strip.ToDisplay(0, 0));
        Assert.Equal(new PicturePoint(99, 40), strip.ToDisplay(100, 0));
    }

    // A quarter turn: the displayed point (u, v) is the coded point (v, height - 1 - u).
    [Fact]
    public void A_turned_clip_keeps_displayed_places()
    {
        var turned = new DisplayOrientation(200, 100, 0, -1, 1, 0);
        StripGeometry strip = StripGeometry.Along(turned, new RulerAxis(new PicturePoint(30, 10), 0, 1), 5);
        Assert.Equal(200, strip.LengthPx);
        Assert.Equal(new PicturePoint(30, 50), strip.ToDisplay(50, 0));
        Assert.Equal((50, 69), strip.ToCoded(50, 0));
    }

    // Along the rows and along the columns, either way, and at angles at which neighbours change their row often or hardly ever.
    [Theory]
    [InlineData(0)]
    [InlineData(0.003)]
    [InlineData(0.2)]
    [InlineData(3.1)]
    [InlineData(1.5)]
    [InlineData(-1.57)]
    public void A_tilted_strip_samples_along_its_line(double angle)
    {
        DisplayOrientation upright = DisplayOrientation.Upright(300, 200);
        StripGeometry strip = StripGeometry.Along(upright, new RulerAxis(new PicturePoint(150, 100), Math.Cos(angle), Math.Sin(angle)), 4);
        PixelRegion region = strip.Region();
        float[] picture = new float[region.Width * region.Height];
        for (int y = 0; y < region.Height; y++)
        {
            for (int x = 0; x < region.Width; x++)
                picture[(y * region.Width) + x] = (3 * (x + region.X)) - (2 * (y + region.Y));
        }

        var sampler = new StripSampler(strip, region);
        float[] samples = new float[sampler.Count];
        sampler.Sample(picture, strip.Placement(), samples);
        for (int j = 0; j < strip.WidthPx; j++)
        {
            for (int i = 10; i < strip.LengthPx - 10; i += 13)
            {
                (double x, double y) = strip.ToCoded(i, j - strip.HalfWidthPx);

                // A plane is reproduced by bilinear interpolation; single precision of values up to 900.
                Assert.Equal((3 * x) - (2 * y), samples[(j * strip.LengthPx) + i], 2e-3);
            }
        }
    }

    [Fact]
    public void A_line_beside_the_picture_is_refused()
    {
        DisplayOrientation upright = DisplayOrientation.Upright(200, 100);
        Assert.Throws<UnusableInputException>(() => StripGeometry.Along(upright, new RulerAxis(new PicturePoint(10, 140), 1, 0), 5));
    }

    // The same streak once below and once far above the clipping level: what is left of the clipped columns tells the light.
    [Fact]
    public void A_clipped_core_does_not_flatten_the_profile()
    {
        const int length = 200;
        DisplayOrientation upright = DisplayOrientation.Upright(length, 120);
        StripGeometry strip = StripGeometry.Along(upright, new RulerAxis(new PicturePoint(0, 60), 1, 0), 42);
        float[] dim = Streak(strip, 0.5f), bright = Streak(strip, 2.0f);
        float[] dark = new float[dim.Length];
        AcrossShape across = AcrossShape.Of(strip, [dim], dark, 6.5, 1);
        var profiler = new StripProfiler(strip, across, dark, 1);
        float[] a = new float[length], b = new float[length];
        profiler.Profile(dim, a);
        Assert.Equal(0, profiler.ClippedSamples);
        profiler.Profile(bright, b);
        Assert.True(profiler.ClippedSamples > 1000);
        for (int i = 0; i < length; i++)
            Assert.Equal(4 * a[i], b[i], 0.01 * 4 * a.Max());

        static float[] Streak(StripGeometry strip, float peak)
        {
            float[] samples = new float[strip.LengthPx * strip.WidthPx];
            for (int j = 0; j < strip.WidthPx; j++)
            {
                for (int i = 0; i < strip.LengthPx; i++)
                {
                    double t = (j - strip.HalfWidthPx) / 6.0, s = (i - 100) / 40.0;
                    samples[(j * strip.LengthPx) + i] = (float)Math.Min(1, peak * Math.Exp((-0.5 * t * t) - (0.5 * s * s)));
                }
            }

            return samples;
        }
    }

    [Fact]
    public void Profiles_come_back_from_the_store_as_they_went_in()
    {
        using var store = new ProfileStore(5);
        store.Add([1, 2, 3, 4, 5]);
        store.Add([6, float.NaN, 8, 9, 10]);
        float[] profile = new float[5];
        store.Read(1, profile);
        Assert.Equal([6, float.NaN, 8, 9, 10], profile);
        store.Read(0, profile);
        Assert.Equal([1, 2, 3, 4, 5], profile);
        Assert.Equal(2, store.Count);
    }
}
