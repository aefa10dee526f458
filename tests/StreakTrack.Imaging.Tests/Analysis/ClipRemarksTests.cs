using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Analysis;

/// <summary>Remarks on clips that were filmed or marked in ways that people should hear of, each beside a clip without that fault.</summary>
public sealed class ClipRemarksTests : IDisposable
{
    private static readonly ClipScenario Plain = new()
    {
        Name = "remarks",
        Seed = 311,
        DurationSeconds = 3,
        Motion = new DecayMotion { FrequencyHz = 36.4, TauSeconds = 1.2, AmplitudeMm = 38, SwitchTimeSeconds = 0.4 },
        Laser = new LaserSettings { Level = 0.1 },
        Scene = new SceneSettings { AmbientLevel = 0.05 },
        Camera = new CameraSettings { WidthPx = 640, HeightPx = 240, PxPerMm = 5, ExposureSeconds = 1 / 30.0 },
    };

    private readonly string _folder = Directory.CreateTempSubdirectory("streaktrack-remarks-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Marks_that_the_streak_passes_or_that_lie_outside_the_picture_are_told()
    {
        SimulatedClip clip = Write(Plain);
        RulerMark[] inner = [.. clip.Marks.OrderBy(m => Math.Abs(m.ReadingMm - clip.Marks.Average(k => k.ReadingMm))).Take(4)];
        RulerMark first = clip.Marks[0], last = clip.Marks[^1];
        double mmPerPx = (last.ReadingMm - first.ReadingMm) / (last.Point.UPx - first.Point.UPx);
        var outside = new RulerMark(new PicturePoint(-30, first.Point.VPx), first.ReadingMm + mmPerPx * (-30 - first.Point.UPx));

        string[] whole = Codes(clip, clip.Marks), narrow = Codes(clip, inner), beyond = Codes(clip, [outside, .. clip.Marks]);
        Assert.Contains("outside-marks", narrow);
        Assert.DoesNotContain("outside-marks", whole);
        Assert.Contains("marks-outside-picture", beyond);
        Assert.DoesNotContain("marks-outside-picture", whole);
        foreach (string fault in (string[])["irregular-frame-times", "exposure-step", "low-contrast", "estimates-disagree", "frames-lost", "reduced-pictures"])
            Assert.DoesNotContain(fault, whole);
    }

    [Fact]
    public void Missing_frames_are_told() =>
        Assert.Contains("irregular-frame-times", Codes(Write(Plain with { Timing = new TimingSettings { DropProbability = 0.1 } })));

    [Fact]
    public void Change_of_the_exposure_is_told()
    {
        CameraSettings camera = Plain.Camera with { ExposureSteps = [new ExposureStep { TimeSeconds = 1.5, ExposureSeconds = 1 / 30.0, Gain = 1.6 }] };
        Assert.Contains("exposure-step", Codes(Write(Plain with { Camera = camera })));
    }

    [Fact]
    public void Faint_streak_is_told() =>
        Assert.Contains("low-contrast", Codes(Write(Plain with { Laser = new LaserSettings { Level = 0.008 } })));

    [Fact]
    public void Pictures_with_fewer_bits_than_the_clip_holds_are_told()
    {
        ClipFacts facts = ClipFile.Inspect(Fixtures.PathOf("clips-small", "hevc10.mp4"));
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = ReaderChoice.Embedded, ReadAhead = 0 });
        Assert.Equal("reduced-pictures", Assert.Single(reader.Findings).Code);
    }

    // Copied to 60 % of its bytes; its index lies in front of the pictures and announces 300.
    [Theory]
    [InlineData("embedded")]
    [InlineData("ffmpeg")]
    public void Frames_that_a_cut_copy_has_lost_are_told(string reader)
    {
        string fixture = Fixtures.PathOf("clips", "ringdown_dark_720p30"), path = Path.Combine(_folder, "cut.mp4");
        byte[] whole = File.ReadAllBytes(Path.Combine(fixture, "clip.mp4"));
        File.WriteAllBytes(path, whole[..(whole.Length * 6 / 10)]);

        ClipAnalysis analysis = ClipAnalyzer.Analyze(
            path, MarksCsv.Read(Path.Combine(fixture, "marks.csv")), new AnalysisOptions { Ticks = "off", Reader = reader });

        Assert.StartsWith(reader, analysis.Measurement.ReaderName, StringComparison.Ordinal);
        int lost = analysis.Measurement.LostFrames;
        Assert.InRange(lost, 10, 270);
        Assert.Equal(300, lost + analysis.Series.Count);
        string told = Assert.Single(analysis.Record.Result.Findings, f => f.Code == "frames-lost").Message;
        Assert.Contains($"{lost} of 300 frames", told, StringComparison.Ordinal);
    }

    private SimulatedClip Write(ClipScenario scenario) => SimulatedClip.Write(scenario, _folder);

    private static string[] Codes(SimulatedClip clip, IReadOnlyList<RulerMark>? marks = null)
    {
        // The marks alone make the scale, so that what is remarked on them does not hang on the ticks.
        ClipAnalysis analysis = ClipAnalyzer.Analyze(clip.ClipPath, marks ?? clip.Marks, new AnalysisOptions { Ticks = "off" });
        return [.. analysis.Record.Result.Findings.Select(finding => finding.Code)];
    }
}
