using System.Security.Cryptography;
using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Rendering;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Tests.Rendering;

public class ClipRendererTests
{
    private static readonly ClipScenario Small = new()
    {
        Name = "small",
        Seed = 5,
        DurationSeconds = 0.3,
        Motion = new DecayMotion { AmplitudeMm = 10, SwitchTimeSeconds = 0.1 },
        Camera = new CameraSettings { WidthPx = 192, HeightPx = 128, PxPerMm = 6 },
    };

    [Fact]
    public void Same_seed_gives_the_same_bytes_in_any_order_and_on_any_thread()
    {
        ClipScenario shaken = Small with { Camera = Small.Camera with { ShakeRmsPx = 2 } };
        var first = new ClipRenderer(shaken);
        string[] inOrder = [.. Enumerable.Range(0, first.Frames.Count).Select(k => Hash(first, k))];

        var second = new ClipRenderer(shaken);
        var onThreads = new string[inOrder.Length];
        Parallel.For(0, inOrder.Length, new ParallelOptions { MaxDegreeOfParallelism = 2 }, i =>
        {
            int k = inOrder.Length - 1 - i;
            onThreads[k] = Hash(second, k);
        });

        Assert.Equal(inOrder, onThreads);
        Assert.Equal(inOrder.Length, inOrder.Distinct().Count());
    }

    [Fact]
    public void Another_seed_gives_another_clip()
    {
        Assert.NotEqual(Hash(new ClipRenderer(Small), 0), Hash(new ClipRenderer(Small with { Seed = 6 }), 0));
    }

    [Fact]
    public void Passer_hides_what_is_behind_and_takes_room_light()
    {
        // The middle crosses the picture's middle at 0.15 s, in the middle of the fifth frame; 0.6 s earlier it was two widths away.
        ClipScenario card = Small with
        {
            Ruler = new RulerSettings { Kind = RulerKind.Card },
            Laser = new LaserSettings { Level = 0 },
            Scene = new SceneSettings { AmbientLevel = 0.4, GradientAlong = 0, GradientAcross = 0 },
            Camera = Small.Camera with { Vignetting = 0 },
        };
        var passer = new PasserSettings
        {
            TimeSeconds = 4.5 / 30, CrossingSeconds = 0.3, WidthShare = 0.25, RowShare = 0.5, EdgeSigmaPx = 2, Reflectance = 0.2, ShadowShare = 0.3,
        };
        LinearPicture before = new ClipRenderer(card).RenderLight(4);
        LinearPicture passed = new ClipRenderer(card with { Scene = card.Scene with { Passer = passer } }).RenderLight(4);
        LinearPicture gone = new ClipRenderer(card with { Scene = card.Scene with { Passer = passer with { TimeSeconds = -10 } } }).RenderLight(4);

        Assert.Equal(0.4, before.Green[20 * 192 + 96] / 0.96, 1e-6);
        Assert.Equal(0.2 * 0.4, passed.Green[20 * 192 + 96] / 0.96, 1e-6);
        Assert.Equal(0.7 * 0.4, passed.Green[100 * 192 + 96] / 0.96, 1e-6);
        Assert.Equal(0.7 * 0.4, passed.Green[20 * 192 + 20] / 0.96, 1e-6);

        // Half covered where the edge lies: a quarter of the width about the middle of columns 0 to 191, an eighth to either side.
        Assert.Equal(0.5 * (0.7 + 0.2) * 0.4, Math.Sqrt(passed.Green[20 * 192 + 71] * passed.Green[20 * 192 + 72]) / 0.96, 0.01);
        Assert.Equal(before.Green, gone.Green);
    }

    [Fact]
    public void Noise_has_the_variance_of_electrons_and_read_out()
    {
        ClipScenario grey = Small with
        {
            Ruler = new RulerSettings { Kind = RulerKind.Card },
            Laser = new LaserSettings { Level = 0 },
            Scene = new SceneSettings { AmbientLevel = 0.4, GradientAlong = 0, GradientAcross = 0 },
            Camera = Small.Camera with
            {
                Vignetting = 0, FullWellElectrons = 1000, ReadNoiseElectrons = 12, Transfer = TransferFunction.Linear, PsfSigmaPx = 0,
            },
        };
        var renderer = new ClipRenderer(grey);
        var bgr = new byte[renderer.FrameBytes];
        double sum = 0, squares = 0;
        int n = 0;
        for (int k = 0; k < renderer.Frames.Count; k++)
        {
            renderer.Render(k, bgr);
            for (int i = 2; i < bgr.Length; i += 3, n++)
            {
                sum += bgr[i];
                squares += (double)bgr[i] * bgr[i];
            }
        }

        // 0.4 of 1000 electrons: variance (400 + 144) / 1000^2 of full scale, and 1/12 from rounding to whole codes; 220 000 pixels
        // give the standard deviation to 0.15 %, and the shared table of a million numbers to 0.1 %.
        double mean = sum / n, variance = squares / n - mean * mean;
        Assert.Equal(0.4 * 255, mean, 0.1);
        Assert.Equal(Math.Sqrt(255 * 255 * 544e-6 + 1.0 / 12), Math.Sqrt(variance), 0.04);
    }

    [Fact]
    public void Noise_of_neighbouring_frames_and_rows_is_not_alike()
    {
        var noise = new SensorNoise(Small);
        var grey = new LinearPicture(512, 64);
        Array.Fill(grey.Red, 0.4f);
        byte[] first = new byte[512 * 64 * 3], second = new byte[512 * 64 * 3];
        noise.Develop(0, 1, grey, first);
        noise.Develop(1, 1, grey, second);

        // 32 768 pairs: an unrelated pair of pictures correlates by 0.0055 (one sigma).
        Assert.InRange(Correlation(first, second, 0), -0.025, 0.025);
        Assert.InRange(Correlation(first, first, 512 * 3), -0.025, 0.025);
        Assert.InRange(Correlation(first, first, 3), -0.025, 0.025);
    }

    [Theory]
    [InlineData(TransferFunction.Bt709, 1)]
    [InlineData(TransferFunction.Srgb, 2)]
    public void Codes_follow_the_published_transfer_functions(TransferFunction transfer, int column)
    {
        // ITU-R BT.709-6 and IEC 61966-2-1, tabulated in fixtures/reference/tables ; some arguments have 10 digits.
        foreach (double[] row in ReferenceTable.Rows("tables", "transfer_functions.csv"))
            Assert.Equal(row[column], SensorNoise.Code(transfer, row[0]), 1e-10);
    }

    [Theory]
    [InlineData(0, 0, 0, 0.0)]
    [InlineData(20, -8, 3, 0.0)]
    [InlineData(0, 0, 0, -0.05)]
    public void Ticks_are_drawn_where_the_geometry_says(double yaw, double pitch, double roll, double lens)
    {
        ClipScenario scenario = Small with
        {
            Laser = new LaserSettings { Level = 0 },
            Ruler = new RulerSettings { TickStepMm = 5, Texture = 0, TickWidthMm = 0.3, DigitHeightMm = 0 },
            Scene = new SceneSettings { AmbientLevel = 0.5, GradientAcross = 0, GradientAlong = 0 },
            Camera = new CameraSettings
            {
                WidthPx = 640, HeightPx = 360, PxPerMm = 8, YawDegrees = yaw, PitchDegrees = pitch, RollDegrees = roll,
                LensDistortion = lens, Vignetting = 0,
            },
        };
        var renderer = new ClipRenderer(scenario);
        LinearPicture light = renderer.RenderLight(0);
        foreach (double reading in new[] { 125.0, 140, 150, 165, 175 })
        {
            (double u, double v) = renderer.Geometry.ToPicture(reading, 2);
            int row = (int)Math.Round(v), middle = (int)Math.Round(u);
            double weight = 0, moment = 0, white = light.Green[row * 640 + middle + 12];
            for (int c = middle - 9; c <= middle + 9; c++)
            {
                weight += white - light.Green[row * 640 + c];
                moment += c * (white - light.Green[row * 640 + c]);
            }

            // The tick leans from row to row; the geometry is asked for the row's own point of it.
            double fromEdge = renderer.Geometry.ToRulerMm(u, row).YMm;
            double expected = renderer.Geometry.ToPicture(reading, fromEdge).UPx;
            // A line blurred by 0.8 px and a pixel's width is sampled without a bias that depends on its place: half a hundredth at most.
            Assert.Equal(expected, moment / weight, 0.006);
        }
    }

    [Fact]
    public void Moved_picture_is_the_still_one_at_its_new_place()
    {
        ClipScenario drifting = Small with
        {
            Laser = new LaserSettings { Level = 0 },
            Scene = new SceneSettings { AmbientLevel = 0.5 },
            Camera = Small.Camera with { DriftAlongPxPerSecond = 30, DriftAcrossPxPerSecond = -60, WidthPx = 256 },
        };
        var renderer = new ClipRenderer(drifting);
        LinearPicture still = renderer.RenderLight(0), moved = renderer.RenderLight(1);
        FrameExposure frame = renderer.Frames[1];

        // One frame of 1/30 s: 1 px to the right and 2 px up, so that pixels can be compared one to one.
        Assert.Equal(1, frame.ShiftUPx, 1e-12);
        Assert.Equal(-2, frame.ShiftVPx, 1e-12);
        for (int v = 5; v < 120; v++)
        {
            for (int u = 5; u < 250; u++)
                Assert.Equal(still.Green[v * 256 + u], moved.Green[(v - 2) * 256 + u + 1], 1e-5);
        }
    }

    [Fact]
    public void Fractional_shift_moves_a_blurred_line_by_that_fraction()
    {
        const int Width = 64;
        var plane = new float[Width * 8];
        for (int v = 0; v < 8; v++)
        {
            for (int u = 0; u < Width; u++)
                plane[v * Width + u] = (float)Math.Exp(-0.5 * (u - 30) * (u - 30) / (0.9 * 0.9));
        }

        var moved = new float[plane.Length];
        PlaneFilter.Shift(plane, moved, Width, 8, 2.3, 0);
        double weight = 0, moment = 0;
        for (int u = 0; u < Width; u++)
        {
            weight += moved[4 * Width + u];
            moment += u * moved[4 * Width + u];
        }

        // The polynomial keeps centroids exactly; only rounding to floats is left.
        Assert.Equal(32.3, moment / weight, 1e-5);
    }

    [Fact]
    public void Tremble_has_the_stated_size()
    {
        ClipScenario shaken = Small with { DurationSeconds = 60, Camera = Small.Camera with { ShakeRmsPx = 3, FramesPerSecond = 10 } };
        FrameExposure[] frames = [.. FrameSchedule.Of(shaken)];
        double mean = frames.Average(f => f.ShiftUPx);

        // Over a minute the slowest tones (0.3 Hz) pass 18 times; their sum keeps its power within some percent.
        Assert.Equal(3, Math.Sqrt(frames.Average(f => (f.ShiftUPx - mean) * (f.ShiftUPx - mean))), 0.25);
        Assert.Equal(0, frames[0].ShiftUPx, 0.5);
    }

    [Fact]
    public void Variable_rate_jitters_and_drops_and_never_runs_back()
    {
        ClipScenario variable = Small with
        {
            DurationSeconds = 100, Timing = new TimingSettings { JitterSeconds = 0.001, DropProbability = 0.1 },
        };
        FrameExposure[] frames = FrameSchedule.Of(variable);

        Assert.Equal(0, frames[0].TimeSeconds);
        Assert.All(frames.Zip(frames.Skip(1)), pair => Assert.True(pair.Second.TimeSeconds > pair.First.TimeSeconds));
        // 2999 draws at 10 %: 300 with a standard deviation of 16.
        Assert.InRange(3000 - frames.Length, 235, 365);
        Assert.All(frames, f => Assert.Equal(Math.Round(f.TimeSeconds * 90_000), f.TimeSeconds * 90_000, 1e-6));
    }

    [Fact]
    public void Repeated_frames_show_the_picture_before_at_their_own_time()
    {
        ClipScenario repeating = Small with { DurationSeconds = 1, Timing = new TimingSettings { RepeatProbability = 0.4 } };
        var renderer = new ClipRenderer(repeating);
        int[] repeats = [.. Enumerable.Range(1, renderer.Frames.Count - 1).Where(k => renderer.Frames[k].Picture != k)];

        Assert.NotEmpty(repeats);
        Assert.All(repeats, k => Assert.Equal(Hash(renderer, k - 1), Hash(renderer, k)));
        Assert.All(Enumerable.Range(0, renderer.Frames.Count), k => Assert.Equal(k / 30.0, renderer.Frames[k].TimeSeconds, 1e-12));
    }

    [Fact]
    public void Impossible_combinations_are_refused()
    {
        Assert.Throws<ArgumentException>(
            () => new ClipRenderer(Small with { Camera = Small.Camera with { FramesPerSecond = 60, ExposureSeconds = 1 / 30.0 } }));
        Assert.Throws<ArgumentException>(
            () => new ClipRenderer(Small with { Camera = Small.Camera with { YawDegrees = 60, ViewAngleDegrees = 100 } }));
        Assert.Throws<ArgumentOutOfRangeException>(() => new ClipRenderer(Small).RenderLight(9));
        Assert.Throws<ArgumentException>(() => new ClipRenderer(Small).Render(0, new byte[10]));
    }

    private static string Hash(ClipRenderer renderer, int frame)
    {
        var bgr = new byte[renderer.FrameBytes];
        renderer.Render(frame, bgr);
        return Convert.ToHexString(SHA256.HashData(bgr));
    }

    /// <summary>Correlation of the red codes of two pictures, the second read some bytes later.</summary>
    private static double Correlation(byte[] a, byte[] b, int offset)
    {
        double n = 0, sa = 0, sb = 0, saa = 0, sbb = 0, sab = 0;
        for (int i = 2; i + offset < b.Length; i += 3, n++)
        {
            double x = a[i], y = b[i + offset];
            sa += x;
            sb += y;
            saa += x * x;
            sbb += y * y;
            sab += x * y;
        }

        return (sab - sa * sb / n) / Math.Sqrt((saa - sa * sa / n) * (sbb - sb * sb / n));
    }
}
