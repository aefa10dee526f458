using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Streaks;

public sealed class StreakStudyTests
{
    private static readonly string Clip = Fixtures.PathOf("clips", "ringdown_dark_720p30", "clip.mp4");
    private static readonly IReadOnlyList<RulerMark> Marks = MarksCsv.Read(Fixtures.PathOf("clips", "ringdown_dark_720p30", "marks.csv"));

    [Fact]
    public void Another_threshold_from_the_same_pass_gives_what_a_new_pass_gives()
    {
        ClipFacts facts = ClipFile.Inspect(Clip);
        RulerScale scale = RulerScaleFitter.Fit(Marks, new RulerScaleOptions());
        using var study = StreakStudy.Of(facts, scale, new StreakOptions(), null, null, null, default);

        using StreakStudy lower = study.WithLaterOf(new StreakOptions { ThresholdFraction = 0.3 });
        StreakMeasurement anew = StreakMeasurer.Measure(facts, scale, new StreakOptions { ThresholdFraction = 0.3 }, null, null, default);

        Assert.Equal(anew.Readings, lower.Measurement.Readings);
        Assert.NotEqual(study.Measurement.Readings, lower.Measurement.Readings);
    }

    // The second clip is one whose ruler moves, of which more is noted for each frame.
    [Theory]
    [InlineData("ringdown_dark_720p30")]
    [InlineData("handheld_1080p30")]
    public void What_was_written_down_gives_the_same_readings_profiles_and_pictures_without_the_clip(string name)
    {
        ClipFacts facts = ClipFile.Inspect(Fixtures.PathOf("clips", name, "clip.mp4"));
        RulerScale scale = RulerScaleFitter.Fit(MarksCsv.Read(Fixtures.PathOf("clips", name, "marks.csv")), new RulerScaleOptions());
        using var study = StreakStudy.Of(facts, scale, new StreakOptions(), null, null, null, default);
        using var written = new MemoryStream();
        study.Save(written);
        ClipFacts gone = facts with { Path = "/no/such/clip.mp4" };

        written.Position = 0;
        using StreakStudy read = StreakStudy.Load(written, gone, scale, new StreakOptions());
        Assert.Equal(written.Length, written.Position);
        Assert.Equal(study.Options, read.Options);
        Assert.Equal(study.Measurement.Readings, read.Measurement.Readings);
        Assert.Equal(study.Measurement with { Readings = [], Findings = [], Pictures = [], Ruler = read.Measurement.Ruler },
            read.Measurement with { Readings = [], Findings = [], Pictures = [] });
        Assert.Equal(study.Measurement.Findings, read.Measurement.Findings);
        Assert.Equal(study.Measurement.Ruler.At(300.5, 350.25), read.Measurement.Ruler.At(300.5, 350.25));
        Assert.Equal(study.Measurement.Pictures.Select(p => (p.Frame, p.DisplayToPicture)), read.Measurement.Pictures.Select(p => (p.Frame, p.DisplayToPicture)));
        FrameProfile expected = study.ProfileOf(9), found = read.ProfileOf(9);
        Assert.Equal(expected.Light, found.Light);
        Assert.Equal(expected.Model, found.Model);
        Assert.Equal(expected.ShownEnds, found.ShownEnds);

        written.Position = 0;
        using StreakStudy lower = StreakStudy.Load(written, gone, scale, new StreakOptions { ThresholdFraction = 0.3 });
        using StreakStudy expectedLower = study.WithLaterOf(new StreakOptions { ThresholdFraction = 0.3 });
        Assert.Equal(expectedLower.Measurement.Readings, lower.Measurement.Readings);
    }

    [Fact]
    public void The_profile_of_a_frame_has_its_ends_where_the_reading_has_them()
    {
        ClipFacts facts = ClipFile.Inspect(Clip);
        var rough = new List<RoughReading>();
        using var study = StreakStudy.Of(
            facts, RulerScaleFitter.Fit(Marks, new RulerScaleOptions()), new StreakOptions(), null, new Collector(rough), null, default);

        int frame = study.Measurement.Readings.First(r => r.FirstEnd is not null).Frame;
        StreakReading reading = study.Measurement.Readings[frame];
        FrameProfile profile = study.ProfileOf(frame);

        Assert.Equal(reading.FirstEnd!.Value, profile.ShownEnds[0]);
        Assert.Equal(reading.SecondEnd!.Value, profile.ShownEnds[1]);
        Assert.Equal(profile.Light.Length, profile.Model.Length);

        // At its threshold end the profile has the threshold's light, in between the two samples beside it.
        int left = (int)Math.Floor(profile.ThresholdFirstPx);
        Assert.InRange(profile.ThresholdFirstLevel, profile.Light[(left - 3)..left].Min(), profile.Light[left..(left + 4)].Max());
        Assert.Throws<ArgumentOutOfRangeException>(() => study.ProfileOf(study.Measurement.Readings.Count));

        // First sight sees the same streak, to within what the ambient light of the whole clip changes.
        Assert.Equal(study.Measurement.Readings.Count, rough.Count);
        double half = (profile.ThresholdSecondPx - profile.ThresholdFirstPx) / 2;
        Assert.InRange(rough[frame].HalfLengthPx / half, 0.98, 1.02);
    }

    [Fact]
    public void Marks_corrected_after_measuring_repeat_bit_for_bit_from_the_record()
    {
        RulerMark[] corrected = [.. Marks.Select((m, i) => i == 0 ? m with { Point = new PicturePoint(m.Point.UPx + 0.4, m.Point.VPx + 1.3) } : m)];
        ClipFacts facts = ClipFile.Inspect(Clip);
        var options = new AnalysisOptions();
        StreakMeasurement measurement =
            StreakMeasurer.Measure(facts, ClipAnalyzer.ScaleOf(facts, Marks, options), ClipAnalyzer.StreakOptionsOf(options), null, null, default);
        options = options with { BandMarks = [.. Marks.Select(m => new MarkRecord(m.Point.UPx, m.Point.VPx, m.ReadingMm))] };
        ClipAnalysis reused = ClipAnalyzer.Evaluate(
            facts, ClipAnalyzer.Sha256Of(Clip), corrected, options, measurement);

        AnalysisRecord record = RecordJson.Parse(RecordJson.Write(reused.Record), "record");
        ClipAnalysis repeated = ClipAnalyzer.Analyze(Clip, ClipAnalyzer.MarksOf(record.Marks), record.Options);

        Assert.Equal(RecordJson.Write(record), RecordJson.Write(repeated.Record));
    }

    private sealed class Collector(List<RoughReading> list) : IProgress<RoughReading>
    {
        public void Report(RoughReading value) => list.Add(value);
    }
}
