using StreakTrack.Synthesis.Rendering;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Tests.Rendering;

public class StreakLightTests
{
    [Fact]
    public void Profile_of_a_full_streak_is_the_exact_density()
    {
        foreach (double[] row in ReferenceTable.Rows("tables", "streak_function.csv"))
        {
            (double amplitude, double sigma, double x, double density) = (row[0], row[1], row[2], row[3]);
            ClipScenario scenario = OnACard(amplitude, sigma, aimOffsetMm: x);
            LinearPicture light = new ClipRenderer(scenario).RenderLight(0);

            // Middle of the streak = Level, whose density is 1/(pi a); the picture's middle lies between four pixels.
            double expected = scenario.Laser.Level * Math.PI * amplitude * density;
            double found = MiddleOf(light);

            // Linear interpolation between 16 places a sigma: 5e-4 of the peak, as the painter states; four-pixel mean: below 1e-4.
            double peak = scenario.Laser.Level * Math.PI * amplitude * Math.Min(0.45 / Math.Sqrt(amplitude * sigma), 0.4 / sigma);
            Assert.True(Math.Abs(found - expected) < 6e-4 * peak, $"a {amplitude} sigma {sigma} x {x}: {found} for {expected}");
        }
    }

    [Theory]
    [InlineData(0, 0, 0.0)]
    [InlineData(25, 0, 0.0)]
    [InlineData(-20, 15, 0.0)]
    [InlineData(0, 0, 0.1)]
    public void Total_light_is_that_of_the_beam_whatever_the_view(double yaw, double pitch, double haloShare)
    {
        ClipScenario scenario = OnACard(10, 0.8, 0) with
        {
            Camera = new CameraSettings
            {
                WidthPx = 320, HeightPx = 192, PxPerMm = 6, PsfSigmaPx = 0.8, HaloShare = haloShare, HaloSigmaPx = 9, Vignetting = 0,
                AimFromEdgeMm = 4, YawDegrees = yaw, PitchDegrees = pitch,
            },
        };
        var renderer = new ClipRenderer(scenario);
        LinearPicture light = renderer.RenderLight(3);

        double total = 0;
        for (int v = 0; v < light.Height; v++)
        {
            for (int u = 0; u < light.Width; u++)
                total += light.Red[v * light.Width + u] * PatchMm2(renderer.Geometry, u, v);
        }

        // Level = flux T / (pi A sqrt(2 pi) sigma), by its definition: so much light falls on the surface in an exposure.
        double expected = scenario.Laser.Level * Math.PI * 10 * Math.Sqrt(2 * Math.PI) * 0.8;
        Assert.Equal(1, total / expected, 1e-3);
    }

    [Theory]
    [InlineData(3)]
    [InlineData(88)]
    public void Row_by_row_exposure_gives_each_pixel_the_light_of_its_own_rows_time(double roll)
    {
        ClipScenario scenario = OnACard(6, 0.7, 0) with
        {
            Motion = new DecayMotion { FrequencyHz = 41, AmplitudeMm = 6, SwitchTimeSeconds = 0.01, TauSeconds = 0.5 },
            Camera = new CameraSettings
            {
                WidthPx = 128, HeightPx = 128, PxPerMm = 7, PsfSigmaPx = 0, HaloShare = 0, Vignetting = 0, AimFromEdgeMm = 4,
                RollDegrees = roll, RowTimeSeconds = 1e-4, ExposureSeconds = 0.013,
            },
        };
        var renderer = new ClipRenderer(scenario);
        LinearPicture light = renderer.RenderLight(2);
        FrameExposure frame = renderer.Frames[2];

        // Brute force: the spot, widened by a pixel's own width, integrated over the row's exposure in steps of 1 us.
        double sigma = Math.Sqrt(0.7 * 0.7 + 1.0 / 12 / 49), widthAcross = Math.Sqrt(0.8 * 0.8 + 1.0 / 12 / 49);
        double flux = scenario.Laser.Level * Math.PI * 6 * Math.Sqrt(2 * Math.PI) * 0.8 / 0.013;
        double peak = light.Red.Max();
        foreach ((double along, double across) in new[] { (-6.0, 0.0), (-3.0, 0.4), (0.0, -0.5), (2.5, 0.0), (5.5, 0.3) })
        {
            (double u, double v) = renderer.Geometry.ToPicture(150 + along, 4 + across);
            (int column, int row) = ((int)Math.Round(u), (int)Math.Round(v));
            (double x, double y) = renderer.Geometry.ToRulerMm(column, row);
            double start = frame.TimeSeconds + row * 1e-4, sum = 0;
            for (int i = 0; i < 13_000; i++)
            {
                double distance = (x - renderer.Path.ReadingMm(start + (i + 0.5) * 1e-6)) / sigma;
                sum += Math.Exp(-0.5 * distance * distance) * 1e-6 / (Math.Sqrt(2 * Math.PI) * sigma);
            }

            double offset = (y - 4) / widthAcross;
            double expected = flux * sum * Math.Exp(-0.5 * offset * offset) / (Math.Sqrt(2 * Math.PI) * widthAcross);
            double found = light.Red[row * 128 + column];
            Assert.True(Math.Abs(found - expected) < 1e-3 * peak, $"{along}: {found} for {expected}");
        }
    }

    [Fact]
    public void Shorter_exposure_shows_an_arc_and_less_light()
    {
        ClipScenario full = OnACard(10, 0.8, 0);
        ClipScenario part = full with { Camera = full.Camera with { WidthPx = 320, ExposureSeconds = 1 / 120.0 } };
        full = full with { Camera = full.Camera with { WidthPx = 320 } };

        // The level refers to the exposure, so that a quarter of the time at the same level is a beam four times as strong.
        double fullLight = new ClipRenderer(full).RenderLight(0).Red.Sum(), partLight = new ClipRenderer(part).RenderLight(0).Red.Sum();
        Assert.Equal(1, partLight / fullLight, 1e-3);

        // A quarter of a period from the turning point at +10 mm: nothing left of the middle but the spot's own flank.
        LinearPicture arc = new ClipRenderer(part).RenderLight(0);
        Assert.True(arc.Red[32 * 320 + 60] < 1e-5);
        Assert.True(arc.Red[32 * 320 + 230] > 0.1);
    }

    [Fact]
    public void Exposure_step_scales_room_and_beam()
    {
        ClipScenario scenario = OnACard(10, 0.8, 0);
        scenario = scenario with
        {
            Scene = scenario.Scene with { AmbientLevel = 0.1 },
            Camera = scenario.Camera with
            {
                HeightPx = 192,
                ExposureSteps = [new ExposureStep { TimeSeconds = 0.1, ExposureSeconds = 1 / 60.0, Gain = 1 }],
            },
        };
        var renderer = new ClipRenderer(scenario);
        LinearPicture before = renderer.RenderLight(2), after = renderer.RenderLight(3);

        Assert.Equal(0.1, before.Red[0], 1e-6);
        Assert.Equal(0.05, after.Red[0], 1e-6);
        double laserBefore = before.Red.Sum(r => r - 0.1), laserAfter = after.Red.Sum(r => r - 0.05);
        Assert.True(laserAfter < laserBefore);
    }

    [Theory]
    [InlineData(0, 3)]
    [InlineData(3, 4.5)]
    [InlineData(5, 6)]
    public void Blur_out_of_focus_adds_to_the_spots_variance_and_takes_no_light(int frame, double blurPx)
    {
        // 30 frames a second: frame 3 at 0.1 s, frame 5 at 1/6 s.
        ClipScenario sharp = OnACard(10, 0.8, 0), soft = sharp with
        {
            Camera = sharp.Camera with
            {
                WidthPx = 320,
                FocusPoints = [new FocusPoint { TimeSeconds = 0, BlurSigmaPx = 3 }, new FocusPoint { TimeSeconds = 0.1, BlurSigmaPx = 4.5 },
                    new FocusPoint { TimeSeconds = 1 / 6.0, BlurSigmaPx = 6 }],
            },
        };
        sharp = sharp with { Camera = sharp.Camera with { WidthPx = 320, HeightPx = 128 } };
        soft = soft with { Camera = soft.Camera with { HeightPx = 128 } };
        float[] blurred = new ClipRenderer(soft).RenderLight(frame).Red, plain = new ClipRenderer(sharp).RenderLight(frame).Red;

        Assert.Equal(1, blurred.Sum(v => (double)v) / plain.Sum(v => (double)v), 1e-3);
        Assert.Equal(blurPx * blurPx, VarianceAcross(blurred) - VarianceAcross(plain), 0.02 * blurPx * blurPx);

        static double VarianceAcross(float[] light)
        {
            double[] rows = [.. light.Chunk(320).Select(row => row.Sum(v => (double)v))];
            double sum = rows.Sum(), middle = rows.Select((r, v) => r * v).Sum() / sum;
            return rows.Select((r, v) => r * (v - middle) * (v - middle)).Sum() / sum;
        }
    }

    [Fact]
    public void Flashes_show_the_spot_where_it_is_when_they_come()
    {
        ClipScenario scenario = OnACard(10, 0.5, 0);
        scenario = scenario with
        {
            Laser = scenario.Laser with { Strobe = new StrobeSettings { FrequencyHz = 30, OnShare = 0.01 } },
            Camera = scenario.Camera with { WidthPx = 320 },
        };
        LinearPicture flashed = new ClipRenderer(scenario).RenderLight(1);

        // 30 Hz flashes of a 30 Hz swing: always at the turning point of phase 0, +10 mm, to within cos(2 pi 0.01) = 0.998.
        int brightest = 0;
        for (int u = 0; u < 320; u++)
        {
            if (flashed.Red[32 * 320 + u] > flashed.Red[32 * 320 + brightest])
                brightest = u;
        }

        Assert.Equal(159.5 + 10 * 10, brightest, 1.0);
        Assert.True(flashed.Red[32 * 320 + 160] < 1e-6);

        // A hundredth of the time gives a hundredth of the light.
        LinearPicture steady = new ClipRenderer(scenario with { Laser = scenario.Laser with { Strobe = null } }).RenderLight(1);
        Assert.Equal(0.01, flashed.Red.Sum() / steady.Red.Sum(), 1e-4);
    }

    /// <summary>A steady full swing on a plain card that sends all light back, 30 Hz at 30 frames a second, seen without any
    /// flaw.</summary>
    private static ClipScenario OnACard(double amplitudeMm, double sigmaMm, double aimOffsetMm) => new()
    {
        Name = "card",
        Seed = 1,
        DurationSeconds = 0.2,
        Motion = new DecayMotion { FrequencyHz = 30, AmplitudeMm = amplitudeMm, SwitchTimeSeconds = 100 },
        Lever = new LeverSettings { DistanceMm = 100_000 },
        Ruler = new RulerSettings { Kind = RulerKind.Card },
        Laser = new LaserSettings
        {
            SigmaAlongMm = sigmaMm, SigmaAcrossMm = 0.8, Level = 0.2, LevelAmplitudeMm = amplitudeMm, SpeckleContrast = 0,
            DistanceFromEdgeMm = 4,
        },
        Scene = new SceneSettings { AmbientLevel = 0, GradientAcross = 0, GradientAlong = 0 },
        Camera = new CameraSettings
        {
            WidthPx = 64, HeightPx = 64, PxPerMm = 10, PsfSigmaPx = 0, HaloShare = 0, Vignetting = 0, AimFromEdgeMm = 4,
            AimReadingMm = 150 + aimOffsetMm,
        },
    };

    /// <summary>Light in the middle of the picture, which is the corner of four pixels, without their distance across the streak.</summary>
    private static double MiddleOf(LinearPicture light)
    {
        int right = light.Width / 2, below = light.Height / 2;
        double mean = (light.Red[(below - 1) * light.Width + right - 1] + light.Red[(below - 1) * light.Width + right]
            + light.Red[below * light.Width + right - 1] + light.Red[below * light.Width + right]) / 4.0;
        // The pixels lie 0.05 mm beside the line of a spot with 0.8 mm, which a pixel of 0.1 mm widens a little.
        double variance = 0.8 * 0.8 + 0.1 * 0.1 / 12;
        return mean * Math.Sqrt(variance) / 0.8 / Math.Exp(-0.5 * 0.05 * 0.05 / variance);
    }

    private static double PatchMm2(CameraGeometry geometry, int u, int v)
    {
        (double x0, double y0) = geometry.ToRulerMm(u - 0.5, v);
        (double x1, double y1) = geometry.ToRulerMm(u + 0.5, v);
        (double x2, double y2) = geometry.ToRulerMm(u, v - 0.5);
        (double x3, double y3) = geometry.ToRulerMm(u, v + 0.5);
        return Math.Abs((x1 - x0) * (y3 - y2) - (y1 - y0) * (x3 - x2));
    }
}
