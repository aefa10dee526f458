using System.Diagnostics;
using System.Globalization;
using System.Security.Cryptography;
using System.Text.Json;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Rendering;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Tests.Output;

public sealed class SimulatedClipTests : IDisposable
{
    private static readonly ClipScenario Short = new()
    {
        Name = "short",
        Seed = 11,
        DurationSeconds = 0.5,
        Motion = new DecayMotion { AmplitudeMm = 9, SwitchTimeSeconds = 0.2 },
        Camera = new CameraSettings { WidthPx = 320, HeightPx = 160, PxPerMm = 4 },
    };

    private readonly string _folder = Directory.CreateTempSubdirectory("streaktrack-synthesis-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Theory]
    [InlineData(ClipEncoder.Embedded, 30)]
    [InlineData(ClipEncoder.Embedded, 60)]
    [InlineData(ClipEncoder.Ffmpeg, 30)]
    [InlineData(ClipEncoder.Ffmpeg, 29.97002997)]
    public void Frame_times_in_the_file_are_the_true_ones(ClipEncoder encoder, double rate)
    {
        SimulatedClip clip = SimulatedClip.Write(
            Short with { Camera = Short.Camera with { FramesPerSecond = rate } }, _folder, new ClipWriterOptions { Encoder = encoder });

        AssertSameTimes(clip);
    }

    [Fact]
    public void Variable_frame_times_are_written_exactly()
    {
        ClipScenario variable = Short with
        {
            DurationSeconds = 2, Timing = new TimingSettings { JitterSeconds = 0.002, DropProbability = 0.1 },
        };

        AssertSameTimes(SimulatedClip.Write(variable, _folder, new ClipWriterOptions { Encoder = ClipEncoder.Ffmpeg }));
    }

    [Fact]
    public void Embedded_encoder_refuses_a_variable_rate()
    {
        ClipScenario variable = Short with { Timing = new TimingSettings { JitterSeconds = 0.002 } };

        var error = Assert.Throws<MissingComponentException>(
            () => SimulatedClip.Write(variable, _folder, new ClipWriterOptions { Encoder = ClipEncoder.Embedded }));
        Assert.Contains("variable frame rate", error.Message, StringComparison.Ordinal);
        Assert.Empty(Directory.GetFiles(_folder));
    }

    [Theory]
    [InlineData(ClipEncoder.Embedded, 90, "-90")]
    [InlineData(ClipEncoder.Ffmpeg, 180, "-180")]
    [InlineData(ClipEncoder.Ffmpeg, 270, "90")]
    public void Rotation_tag_is_seen_by_others(ClipEncoder encoder, int clockwise, string counterClockwise)
    {
        SimulatedClip clip = SimulatedClip.Write(
            Short with { Camera = Short.Camera with { RotationTagDegrees = clockwise } }, _folder,
            new ClipWriterOptions { Encoder = encoder });

        Assert.Equal(counterClockwise, Ffprobe(clip.ClipPath, "stream_side_data=rotation").Trim());
        Assert.Equal(clockwise == 180 ? 320 : 160, clip.Truth.DisplayWidthPx);
        // In the picture as displayed, a quarter turn lays the scale along the columns.
        PicturePoint first = clip.Marks[0].Point, last = clip.Marks[^1].Point;
        Assert.Equal(clockwise != 180, Math.Abs(last.VPx - first.VPx) > Math.Abs(last.UPx - first.UPx));
    }

    [Fact]
    public void Colour_is_described_in_the_file()
    {
        SimulatedClip h264 = SimulatedClip.Write(Short, _folder, new ClipWriterOptions { Encoder = ClipEncoder.Ffmpeg });
        Assert.Equal(
            "tv,bt709,bt709,left", Ffprobe(h264.ClipPath, "stream=color_range,color_space,color_transfer,chroma_location").Trim());

        SimulatedClip jpeg = SimulatedClip.Write(Short, _folder, new ClipWriterOptions { Encoder = ClipEncoder.Embedded });
        Assert.Equal("pc,bt470bg,center", Ffprobe(jpeg.ClipPath, "stream=color_range,color_space,chroma_location").Trim());
    }

    [Fact]
    public void Colour_samples_lie_where_the_file_says()
    {
        // A resting red spot in the dark, 150.0 mm at column 159.5: its colour must be centred on it as its brightness is.
        ClipScenario spot = Short with
        {
            Motion = new RiseMotion { AmplitudeMm = 9, SwitchTimeSeconds = 100 },
            Ruler = new RulerSettings { Kind = RulerKind.Card },
            Scene = new SceneSettings { AmbientLevel = 0.02, GradientAlong = 0, GradientAcross = 0 },
            Laser = new LaserSettings { SigmaAlongMm = 1.5, SigmaAcrossMm = 1.5, Level = 0.02, SpeckleContrast = 0 },
            Camera = Short.Camera with { Vignetting = 0, HaloShare = 0 },
        };
        SimulatedClip clip = SimulatedClip.Write(spot, _folder, new ClipWriterOptions { Encoder = ClipEncoder.Ffmpeg, RateFactor = 5 });
        byte[] planes = FirstFramePlanes(clip.ClipPath);
        double luma = Centroid(planes.AsSpan(0, 320 * 160), 320), colour = Centroid(planes.AsSpan(320 * 160 * 5 / 4, 160 * 80), 160);

        // Left-sited: colour sample k lies over column 2 k. The wrong place would be half a pixel off.
        Assert.Equal(159.5, luma, 0.2);
        Assert.Equal(159.5, 2 * colour, 0.2);
    }

    [Fact]
    public void Truth_file_can_be_read_without_this_program()
    {
        SimulatedClip clip = SimulatedClip.Write(Short, _folder, new ClipWriterOptions { Encoder = ClipEncoder.Embedded });
        using JsonDocument truth = JsonDocument.Parse(File.ReadAllText(clip.TruthPath));
        JsonElement root = truth.RootElement;

        Assert.Equal(2, root.GetProperty("oscillator").GetProperty("tau_s").GetDouble());
        // Q = pi f tau.
        Assert.Equal(Math.PI * 34 * 2, root.GetProperty("oscillator").GetProperty("q").GetDouble(), 1e-9);
        Assert.Equal("decay", root.GetProperty("scenario").GetProperty("motion").GetProperty("kind").GetString());
        JsonElement frame = root.GetProperty("frames")[0];
        Assert.Equal(9, frame.GetProperty("amplitude_mm").GetDouble(), 1e-9);
        // 34 Hz in 1/30 s is more than a period, so both turning points are seen: 150 -+ 9 mm.
        Assert.Equal(141, frame.GetProperty("first_mm").GetDouble(), 1e-3);
        Assert.Equal(159, frame.GetProperty("second_mm").GetDouble(), 1e-3);
        // Four pixels a millimetre, the resting spot in the middle of 320 columns.
        Assert.Equal(159.5 + 9 * 4, frame.GetProperty("second_px")[0].GetDouble(), 0.01);
        Assert.Equal(clip.ClipPath, Path.Combine(_folder, root.GetProperty("clip").GetString()!));
    }

    [Fact]
    public void Truth_can_be_kept_apart_under_a_hash_that_gives_nothing_away()
    {
        string apart = Path.Combine(_folder, "sealed");
        var options = new ClipWriterOptions { Encoder = ClipEncoder.Embedded, TruthFolder = apart, TruthSalt = "8f2c" };
        SimulatedClip first = SimulatedClip.Write(Short, _folder, options);
        SimulatedClip second = SimulatedClip.Write(Short, _folder, options with { TruthSalt = "90aa" });

        Assert.Equal(Path.Combine(apart, "truth.json"), first.TruthPath);
        Assert.False(File.Exists(Path.Combine(_folder, "truth.json")));
        Assert.NotEqual(first.TruthSha256, second.TruthSha256);
        Assert.Equal(second.TruthSha256, Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(second.TruthPath))));
    }

    [Fact]
    public void Arc_of_a_short_exposure_is_told_from_the_amplitude()
    {
        ClipScenario arcs = Short with { Camera = Short.Camera with { ExposureSeconds = 0.004 } };
        ClipTruth truth = TruthBuilder.Build(new ClipRenderer(arcs), "", "");

        Assert.Equal(0.004 * 34, truth.Frames[0].PeriodsExposed, 1e-12);
        // 0.136 of a period from the turning point at phase 0: from 9 down to 9 cos(2 pi 0.136).
        Assert.Equal(159, truth.Frames[0].SecondMm, 1e-3);
        Assert.Equal(150 + 9 * Math.Cos(2 * Math.PI * 0.136), truth.Frames[0].FirstMm, 1e-2);
        Assert.Equal(9, truth.Frames[0].AmplitudeMm, 1e-9);
    }

    [Fact]
    public void Marks_scatter_about_their_ticks_as_stated()
    {
        double sum = 0, squares = 0;
        int n = 0;
        for (int seed = 0; seed < 60; seed++)
        {
            ClipScenario scenario = Short with
            {
                Seed = seed, Ruler = new RulerSettings { Kind = RulerKind.White }, Marks = new MarkSettings { Count = 7, ScatterPx = 0.6 },
            };
            var renderer = new ClipRenderer(scenario);
            foreach (RulerMark mark in MarkClicker.Click(renderer))
            {
                (double u, double v) = renderer.Geometry.ToPicture(mark.ReadingMm, scenario.Laser.DistanceFromEdgeMm);
                foreach (double offset in new[] { mark.Point.UPx - u, mark.Point.VPx - v })
                {
                    sum += offset;
                    squares += offset * offset;
                    n++;
                }
            }
        }

        // 840 clicks' coordinates: 2.4 % of 0.6 px (one sigma), mean 0.02 px.
        Assert.Equal(840, n);
        Assert.Equal(0.6, Math.Sqrt(squares / n), 0.06);
        Assert.Equal(0, sum / n, 0.08);
    }

    [Fact]
    public void Marks_file_has_the_columns_that_an_analysis_reads()
    {
        SimulatedClip clip = SimulatedClip.Write(Short, _folder, new ClipWriterOptions { Encoder = ClipEncoder.Embedded });
        string[] lines = File.ReadAllLines(clip.MarksPath);

        Assert.Equal("u_px,v_px,reading_mm", lines[0]);
        Assert.Equal(clip.Marks.Count, lines.Length - 1);
        double[] first = [.. lines[1].Split(',').Select(cell => double.Parse(cell, CultureInfo.InvariantCulture))];
        Assert.Equal(clip.Marks[0].Point.UPx, first[0], 1e-9);
        Assert.Equal(clip.Marks[0].ReadingMm, first[2], 1e-9);
    }

    [Theory]
    [InlineData(ClipEncoder.Embedded)]
    [InlineData(ClipEncoder.Ffmpeg)]
    public void Cancelled_work_leaves_nothing_behind(ClipEncoder encoder)
    {
        using var source = new CancellationTokenSource();
        var progress = new Callback(share =>
        {
            if (share > 0.3)
                source.Cancel();
        });

        Assert.ThrowsAny<OperationCanceledException>(
            () => SimulatedClip.Write(Short, _folder, new ClipWriterOptions { Encoder = encoder }, progress, source.Token));
        Assert.Empty(Directory.GetFiles(_folder));
    }

    [Fact]
    public void Same_scenario_gives_the_same_file_on_one_and_two_threads()
    {
        byte[] one = File.ReadAllBytes(SimulatedClip.Write(
            Short, Path.Combine(_folder, "a"), new ClipWriterOptions { Encoder = ClipEncoder.Embedded, Threads = 1 }).ClipPath);
        byte[] two = File.ReadAllBytes(SimulatedClip.Write(
            Short, Path.Combine(_folder, "b"), new ClipWriterOptions { Encoder = ClipEncoder.Embedded, Threads = 2 }).ClipPath);

        Assert.Equal(one, two);
    }

    private static void AssertSameTimes(SimulatedClip clip)
    {
        double[] times = [.. Ffprobe(clip.ClipPath, "packet=pts_time")
            .Split('\n', StringSplitOptions.RemoveEmptyEntries)
            .Select(line => double.Parse(line.Trim().TrimEnd(','), CultureInfo.InvariantCulture)).Order()];

        Assert.Equal(clip.Truth.Frames.Count, times.Length);
        // ffprobe prints microseconds; the QuickTime file of the embedded encoder counts in finer steps than 1/10 000 s.
        for (int k = 0; k < times.Length; k++)
            Assert.Equal(clip.Truth.Frames[k].TimeS, times[k], 5e-5);
    }

    private static byte[] FirstFramePlanes(string path)
    {
        var start = new ProcessStartInfo("ffmpeg") { RedirectStandardOutput = true };
        foreach (string argument in new[] { "-v", "error", "-i", path, "-frames:v", "1", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-" })
            start.ArgumentList.Add(argument);
        using Process process = Process.Start(start)!;
        using var bytes = new MemoryStream();
        process.StandardOutput.BaseStream.CopyTo(bytes);
        process.WaitForExit();
        return bytes.ToArray();
    }

    /// <summary>Mean column of what a plane has above half of its own range.</summary>
    private static double Centroid(ReadOnlySpan<byte> plane, int width)
    {
        byte least = 255, most = 0;
        foreach (byte b in plane)
        {
            least = Math.Min(least, b);
            most = Math.Max(most, b);
        }

        double weight = 0, moment = 0, half = (least + most) / 2.0;
        for (int i = 0; i < plane.Length; i++)
        {
            double above = Math.Max(0, plane[i] - half);
            weight += above;
            moment += above * (i % width);
        }

        return moment / weight;
    }

    private static string Ffprobe(string path, string entries)
    {
        var start = new ProcessStartInfo("ffprobe") { RedirectStandardOutput = true };
        foreach (string argument in new[] { "-v", "error", "-select_streams", "v:0", "-show_entries", entries, "-of", "csv=p=0", path })
            start.ArgumentList.Add(argument);
        using Process process = Process.Start(start)!;
        string text = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return text;
    }

    private sealed class Callback(Action<double> action) : IProgress<double>
    {
        public void Report(double value) => action(value);
    }
}
