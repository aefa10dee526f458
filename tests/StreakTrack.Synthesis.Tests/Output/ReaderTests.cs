using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Tests.Output;

/// <summary>What the product's own reader makes of simulated clips.</summary>
public sealed class ReaderTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("streaktrack-synthesis-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Theory]
    [InlineData(ClipEncoder.Embedded, 0, 0.0)]
    [InlineData(ClipEncoder.Ffmpeg, 90, 0.002)]
    [InlineData(ClipEncoder.Ffmpeg, 270, 0.0)]
    public void Frames_come_at_their_true_times_and_ticks_lie_where_the_truth_says(ClipEncoder encoder, int rotation, double jitter)
    {
        var scenario = new ClipScenario
        {
            Name = "read back",
            Seed = 3,
            DurationSeconds = 0.6,
            Motion = new DecayMotion { AmplitudeMm = 8, SwitchTimeSeconds = 0.2 },
            Scene = new SceneSettings { AmbientLevel = 0.5 },
            Laser = new LaserSettings { Level = 0, DistanceFromEdgeMm = 2 },
            Ruler = new RulerSettings { TickStepMm = 5, TickWidthMm = 0.6 },
            Camera = new CameraSettings { WidthPx = 320, HeightPx = 160, PxPerMm = 5, RotationTagDegrees = rotation },
            Timing = new TimingSettings { JitterSeconds = jitter },
        };
        SimulatedClip clip = SimulatedClip.Write(scenario, _folder, new ClipWriterOptions { Encoder = encoder });

        ClipFacts facts = ClipFile.Inspect(clip.ClipPath);
        Assert.Equal(clip.Truth.DisplayWidthPx, facts.Orientation.DisplayWidth);
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions());
        var frame = new RawFrame();
        var times = new List<double>();
        while (reader.TryRead(frame))
        {
            times.Add(frame.TimeSeconds);
            foreach (TickTruth tick in clip.Truth.Ticks.Where(t => t.ReadingMm is > 125 and < 175))
                AssertDarkest(facts, frame, new PicturePoint(tick.Px[0], tick.Px[1]));
        }

        Assert.Equal(clip.Truth.Frames.Count, times.Count);
        for (int k = 0; k < times.Count; k++)
            Assert.Equal(clip.Truth.Frames[k].TimeS, times[k], 1e-4);
    }

    /// <summary>A tick is darker than the ruler 2 mm beside it, to either side along the scale.</summary>
    private static void AssertDarkest(ClipFacts facts, RawFrame frame, PicturePoint tick)
    {
        const double Beside = 10;
        (double x, double y) = facts.Orientation.ToCoded(tick);
        double Luma(double column) => frame.Plane0[(int)Math.Round(y) * frame.Region.Width + (int)Math.Round(column)];

        Assert.Equal(320, frame.Region.Width);
        Assert.True(Luma(x) + 25 < Luma(x - Beside), $"{tick}: {Luma(x)} beside {Luma(x - Beside)}");
        Assert.True(Luma(x) + 25 < Luma(x + Beside), $"{tick}: {Luma(x)} beside {Luma(x + Beside)}");
    }
}
