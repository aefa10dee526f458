using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using SixLabors.ImageSharp.Processing;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Tables;
using StreakTrack.Imaging.Photos;
using StreakTrack.Synthesis.Output;

namespace StreakTrack.Imaging.Tests.Photos;

/// <summary>Photographs with known truth from the simulator.</summary>
public class PhotoAnalyzerTests
{
    private static readonly double[] Curve =
        [36.9, 37.7, 38.2, 38.45, 38.6, 38.7, 38.8, 38.9, 39.0, 39.1, 39.2, 39.35, 39.6, 40.1, 40.9];

    private static readonly double[] Few = [37.7, 38.6, 38.9, 39.1, 40.1];

    private static PhotoAnalysis Analyze(SimulatedPhotos photos, AnalysisOptions? options = null, bool frequencies = true) => PhotoAnalyzer.Analyze(
        [.. photos.Paths.Select((p, k) => new PhotoInput(p, frequencies ? photos.FrequenciesHz[k] : null))], photos.Marks,
        options ?? new AnalysisOptions { DistanceMm = PhotographedCurve.DistanceMm });

    // Bars set before anything was measured: 0.1 mm of bias, and errors that the stated uncertainties cover.
    private static void AssertTrue(PhotoAnalysis analysis, SimulatedPhotos photos, double largestBiasMm = 0.1)
    {
        double[] errors = [.. analysis.Record.Result.Photos.Select((p, k) => p.AmplitudeMm!.Value - photos.AmplitudesMm[k])];
        double[] normalised = [.. errors.Select((e, k) => e / analysis.Record.Result.Photos[k].CombinedUncertaintyMm!.Value)];
        Assert.All(analysis.Record.Result.Photos, p => Assert.True(p.Usable, p.File + " " + string.Join(' ', p.Flags)));
        Assert.InRange(errors.Average(), -largestBiasMm, largestBiasMm);
        Assert.All(normalised, z => Assert.InRange(z, -3, 3));
        Assert.InRange(Math.Sqrt(normalised.Average(z => z * z)), 0, 1.5);
    }

    [Fact]
    public void A_photographed_resonance_curve_gives_lengths_within_their_uncertainty_and_the_resonance_itself()
    {
        using var curve = new PhotographedCurve(Curve);

        PhotoAnalysis analysis = Analyze(curve.Photos);

        AssertTrue(analysis, curve.Photos);
        Assert.DoesNotContain(analysis.Record.Result.Findings, f => f.Severity == FindingSeverity.Error);
        string table = PhotosCsv.WriteCurve(analysis.Record.Result.Photos)!;
        ResonancePoint[] points = [.. ResonanceStudies.PointsFrom(CsvTable.Parse(table, "resonance.csv"), out ResonanceOptions options)];
        ResonanceFit fit = ResonanceStudies.Run(points, options).Fit;

        // The simulator is given the frequency of the free oscillation; that without damping is larger by 1/(2 (2 pi tau)^2 f).
        double f0 = Math.Sqrt(Math.Pow(PhotographedCurve.FrequencyHz, 2) + Math.Pow(1 / (2 * Math.PI * PhotographedCurve.TauSeconds), 2));
        double q = Math.PI * f0 * PhotographedCurve.TauSeconds;
        Assert.Equal("mrad", options.ResponseUnit);
        Assert.InRange((fit.F0Hz.Value - f0) / fit.F0Hz.StandardUncertainty, -3, 3);
        Assert.InRange((fit.QualityFactor.Value - q) / fit.QualityFactor.StandardUncertainty, -3, 3);
        Assert.InRange(fit.F0Hz.Value - f0, -0.005, 0.005);
        Assert.InRange((fit.QualityFactor.Value / q) - 1, -0.02, 0.02);
    }

    [Fact]
    public void A_ruler_in_a_lit_room_and_a_camera_held_by_hand_do_no_harm()
    {
        using var curve = new PhotographedCurve(Few, ambient: 0.3, shakePx: 8, level: 0.05);

        PhotoAnalysis analysis = Analyze(curve.Photos);

        AssertTrue(analysis, curve.Photos);
        Assert.Contains(analysis.Record.Result.Findings, f => f.Code == FindingKinds.Movement.Code && f.Severity == FindingSeverity.Warning);
        Assert.Contains(analysis.Record.Result.Photos, p => Math.Abs(p.ShiftUPx!.Value) > 2);
    }

    [Fact]
    public void A_camera_that_was_knocked_once_is_noticed_also_where_the_survey_does_not_look()
    {
        // Of 15 photographs the survey looks at 12, and not at the fifth.
        using var curve = new PhotographedCurve(Curve);
        using (Image<Rgb24> photo = Image.Load<Rgb24>(curve.Photos.Paths[4]))
        {
            photo.Mutate(p => p.Crop(new Rectangle(0, 0, 1276, 397)).Pad(1284, 403, Color.Black).Crop(new Rectangle(0, 0, 1280, 400)));
            photo.SaveAsJpeg(curve.Photos.Paths[4]);
        }

        PhotoAnalysis analysis = Analyze(curve.Photos);

        AssertTrue(analysis, curve.Photos);
        PhotoResultRecord knocked = analysis.Record.Result.Photos[4];
        Assert.InRange(knocked.ShiftUPx!.Value, 3.9, 4.1);
        Assert.InRange(knocked.ShiftVPx!.Value, 2.9, 3.1);
        Assert.Contains(analysis.Record.Result.Findings, f => f.Code == FindingKinds.Movement.Code && f.Severity == FindingSeverity.Warning);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(4)]
    [InlineData(5)]
    [InlineData(6)]
    [InlineData(7)]
    [InlineData(8)]
    public void Every_orientation_tag_is_honoured(int tag)
    {
        // Half of the series is stored upright, so that the tag must bring the others to the same place.
        using var curve = new PhotographedCurve(Few, settings: k => new PhotoSettings { OrientationTag = k % 2 == 0 ? 1 : tag });

        PhotoAnalysis analysis = Analyze(curve.Photos);

        AssertTrue(analysis, curve.Photos);
        Assert.Equal(tag, analysis.Record.Photos[1].Orientation);
        Assert.All(analysis.Record.Photos, p => Assert.Equal((1280, 400), (p.WidthPx, p.HeightPx)));
        Assert.All(analysis.Record.Result.Photos, p => Assert.InRange(p.ShiftUPx!.Value, -0.1, 0.1));
    }

    [Theory]
    [InlineData(".png", false, false, false)]
    [InlineData(".png", true, false, false)]
    [InlineData(".png", true, false, true)]
    [InlineData(".png", false, true, true)]
    [InlineData(".png", true, true, false)]
    [InlineData(".jpg", false, true, false)]
    public void Formats_of_8_and_16_bits_with_and_without_colour_and_opacity_are_read(string extension, bool sixteen, bool grey, bool alpha)
    {
        using var curve = new PhotographedCurve(
            Few, extension: extension, settings: _ => new PhotoSettings { SixteenBits = sixteen, IsGrey = grey, HasAlpha = alpha });

        PhotoAnalysis analysis = Analyze(curve.Photos);

        AssertTrue(analysis, curve.Photos);
        Assert.Equal(grey, analysis.Record.Result.Findings.Any(f => f.Code == FindingKinds.ColourAssumed.Code));
    }

    [Fact]
    public void An_exposure_shorter_than_a_period_is_never_a_full_length()
    {
        // 20 ms at 39 Hz are 0.78 of a period.
        using var curve = new PhotographedCurve(Few, exposureSeconds: 0.02, level: 0.06);

        PhotoAnalysis analysis = Analyze(curve.Photos);

        Assert.All(analysis.Record.Result.Photos, p =>
        {
            Assert.False(p.Usable);
            Assert.Contains("PartialExposure", p.Flags);
            Assert.InRange(p.ExposurePeriods!.Value, 0.7, 0.85);
        });
        Assert.Contains(analysis.Record.Result.Findings, f => f.Code == FindingKinds.PartialExposure.Code);
        Assert.Null(PhotosCsv.WriteCurve(analysis.Record.Result.Photos));
    }

    [Fact]
    public void What_is_not_known_of_the_exposure_is_said()
    {
        using var untold = new PhotographedCurve(Few[..3], settings: _ => new PhotoSettings { StatesExposure = false });
        using var unasked = new PhotographedCurve(Few[..3]);

        Finding first = Assert.Single(Analyze(untold.Photos).Record.Result.Findings, f => f.Code == FindingKinds.ExposureUnknown.Code);
        Finding second = Assert.Single(Analyze(unasked.Photos, frequencies: false).Record.Result.Findings, f => f.Code == FindingKinds.ExposureUnknown.Code);

        Assert.Contains("no exposure time", first.Message, StringComparison.Ordinal);
        Assert.Contains("no frequency", second.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_lone_photograph_is_measured_with_a_larger_uncertainty()
    {
        using var curve = new PhotographedCurve(Few);

        PhotoAnalysis analysis = PhotoAnalyzer.Analyze([new PhotoInput(curve.Photos.Paths[1], 38.6)], curve.Photos.Marks, new AnalysisOptions());

        PhotoResultRecord photo = Assert.Single(analysis.Record.Result.Photos);
        Assert.True(photo.Usable);
        Assert.InRange((photo.AmplitudeMm!.Value - curve.Photos.AmplitudesMm[1]) / photo.CombinedUncertaintyMm!.Value, -2, 2);
        Assert.InRange(photo.CombinedUncertaintyMm.Value, 0.15, 0.5);
        Assert.Contains(analysis.Record.Result.Findings, f => f.Code == FindingKinds.FewPhotographs.Code);
    }

    [Fact]
    public void A_broken_photograph_is_one_finding_and_not_the_end_of_the_series()
    {
        using var curve = new PhotographedCurve(Few);
        byte[] whole = File.ReadAllBytes(curve.Photos.Paths[1]);
        File.WriteAllBytes(curve.Photos.Paths[1], whole[..(whole.Length / 2)]);
        File.WriteAllText(curve.Photos.Paths[3], "no picture");

        PhotoAnalysis analysis = Analyze(curve.Photos);

        Finding[] left = [.. analysis.Record.Result.Findings.Where(f => f.Code == FindingKinds.PhotoLeftOut.Code)];
        Assert.Equal(2, left.Length);
        Assert.Contains(left, f => f.Message.StartsWith("p2.jpg: the file ends", StringComparison.Ordinal));
        Assert.Contains(left, f => f.Message.StartsWith("p4.jpg: this is neither", StringComparison.Ordinal));
        Assert.Equal(["p1.jpg", "p3.jpg", "p5.jpg"], analysis.Record.Result.Photos.Select(p => p.File));
        Assert.All(analysis.Record.Result.Photos.Zip([0, 2, 4]), p =>
            Assert.InRange(p.First.AmplitudeMm!.Value - curve.Photos.AmplitudesMm[p.Second], -0.15, 0.15));
    }

    [Fact]
    public void A_streak_beyond_the_picture_is_cut_off_and_never_a_full_length()
    {
        // 560 px at 7 px/mm show 80 mm; the largest streak is 76 mm long, and its spot another few.
        using var curve = new PhotographedCurve([37.7, 38.2, 38.9, 40.1], width: 560);

        PhotoAnalysis analysis = PhotoAnalyzer.Analyze(
            [.. curve.Photos.Paths.Select((p, k) => new PhotoInput(p, curve.Photos.FrequenciesHz[k]))], curve.Photos.Marks, new AnalysisOptions());

        Assert.Contains("CutOff", analysis.Record.Result.Photos[2].Flags);
        Assert.False(analysis.Record.Result.Photos[2].Usable);
        Assert.Contains(analysis.Record.Result.Findings, f => f.Code == FindingKinds.StreakCutOff.Code && f.Message.StartsWith("p3.jpg", StringComparison.Ordinal));
    }

    [Fact]
    public void The_same_photographs_give_the_same_record()
    {
        using var curve = new PhotographedCurve(Few);

        Assert.Equal(RecordJson.Write(Analyze(curve.Photos).Record), RecordJson.Write(Analyze(curve.Photos).Record));
    }

    [Fact]
    public void Photographs_that_cannot_be_read_at_all_are_refused()
    {
        using var curve = new PhotographedCurve(Few[..2]);
        foreach (string path in curve.Photos.Paths)
            File.WriteAllText(path, "no picture");

        UnusableInputException refusal = Assert.Throws<UnusableInputException>(() => Analyze(curve.Photos));

        Assert.Contains("neither a JPEG nor a PNG", refusal.Message, StringComparison.Ordinal);
    }
}
