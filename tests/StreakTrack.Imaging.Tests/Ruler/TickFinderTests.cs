using System.Text.Json;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Ruler;

public class TickFinderTests
{
    // The drawn rulers are noiseless to 1 %, so what remains is the linear background's misfit beside neighbouring ticks and digits: a few
    // hundredths of a pixel of 8 px/mm. Clicks of the usual 0.6 px would leave 0.08 mm.
    private const double ReadingToleranceMm = 0.01;

    private static readonly RulerScaleOptions Scale = new();
    private static readonly TickFinderOptions Search = new();

    public static TheoryData<string> Views => ["square", "slanted", "turned", "upright", "leaning", "streak", "bright lines", "covered"];

    [Theory]
    [MemberData(nameof(Views))]
    public void Two_clicks_give_the_scale_of_all_ticks_between_them(string view)
    {
        SyntheticRuler ruler = View(view);
        RulerMark[] clicks = [ruler.Mark(50, 0.7), ruler.Mark(150, -0.6)];
        TickSearch search = TickFinder.Find(ruler.Draw(), clicks, Scale, Search);

        Assert.True(search.Found);
        Assert.Equal(1, search.StepMm);
        Assert.True(search.Marks.Count >= (view == "covered" ? 75 : 99));
        Assert.Empty(search.Findings);
        for (double mm = 52.5; mm < 150; mm += 5)
            Assert.Equal(mm, search.Scale.ReadingMmAt(ruler.At(mm, 4)), ReadingToleranceMm);
        // Clicks were 0.7 px to the right and 0.6 px to the left, along a ruler that points right.
        if (view is "square" or "streak")
        {
            Assert.Equal(0.7, search.ClickDeviationsPx[0], 0.05);
            Assert.Equal(-0.6, search.ClickDeviationsPx[1], 0.05);
        }
    }

    // A shift of 10 % at 100 mm bows the readings between marks at +-65 mm by 0.1 0.65^2 0.385 65 mm, which is a millimetre.
    [Theory]
    [InlineData(-0.04)]
    [InlineData(-0.1)]
    [InlineData(0.1)]
    public void Two_clicks_serve_where_the_lens_bows_the_ruler(double distortion)
    {
        SyntheticRuler ruler = new() { Distortion = distortion, PxPerMm = 8 };
        RulerScaleOptions options = Scale with { PictureCentre = new PicturePoint((ruler.Width - 1) / 2.0, (ruler.Height - 1) / 2.0) };
        TickSearch search = TickFinder.Find(ruler.Draw(), [ruler.Mark(35, 0.5), ruler.Mark(165, -0.4)], options, Search);
        Assert.True(search.Found);
        Assert.Equal(1, search.StepMm);
        Assert.All([40.0, 70, 95, 125, 160], mm => Assert.Equal(mm, search.Scale.ReadingMmAt(ruler.At(mm, 4)), 0.05));
    }

    [Fact]
    public void Points_beside_the_axis_are_read_along_the_ticks()
    {
        SyntheticRuler ruler = View("leaning");
        TickSearch search = TickFinder.Find(ruler.Draw(), [ruler.Mark(50), ruler.Mark(150)], Scale, Search);
        Assert.True(search.Found);
        // Six mm beside the axis the ticks have gone 0.6 mm to the side; carried along them the reading is right to the lean's own uncertainty.
        Assert.All([60.0, 100, 140], mm => Assert.Equal(mm, search.Scale.ReadingMmAt(ruler.At(mm, -2)), 0.03));
        Assert.All([60.0, 100, 140], mm => Assert.Equal(mm, search.Scale.ReadingMmAt(ruler.At(mm, 10)), 0.03));
    }

    [Theory]
    [InlineData(5, 8)]
    [InlineData(10, 8)]
    [InlineData(1, 2.8)]
    public void Coarser_ticks_serve_where_there_are_no_fine_ones_or_they_are_not_resolved(double tickStepMm, double pxPerMm)
    {
        SyntheticRuler ruler = new() { TickStepMm = tickStepMm, PxPerMm = pxPerMm, MiddleMm = 250, TickSigmaMm = 0.15 };
        double half = pxPerMm < 4 ? 200 : 70;
        TickSearch search = TickFinder.Find(ruler.Draw(), [ruler.Mark(250 - half, 0.4), ruler.Mark(250 + half, 0.4)], Scale, Search);
        Assert.True(search.Found);
        // Of unresolved millimetres the 5 mm and the 10 mm ticks stand out.
        Assert.Contains(search.StepMm, pxPerMm < 4 ? new[] { 5.0, 10 } : [tickStepMm]);
        Assert.Equal(230, search.Scale.ReadingMmAt(ruler.At(230, 4)), 0.05);
    }

    [Fact]
    public void Ticks_too_small_to_tell_their_lean_do_not_replace_marks_that_tell_lengths_better()
    {
        // Only the ends of the 5 mm ticks, four rows high, stand out of the grey of the fine ones.
        SyntheticRuler ruler = new() { PxPerMm = 2, MiddleMm = 250, TickSigmaMm = 0.15 };
        TickSearch search = TickFinder.Find(ruler.Draw(), [ruler.Mark(0, 0.4), ruler.Mark(500, 0.4)], Scale, Search);
        Assert.False(search.Found);
        Assert.Equal("ticks-not-found", Assert.Single(search.Findings).Code);
        Assert.Equal(230, search.Scale.ReadingMmAt(ruler.At(230, 4)), 0.3);
    }

    [Fact]
    public void A_scale_without_ticks_rests_on_the_marks_and_says_so()
    {
        SyntheticRuler ruler = new() { TickDepth = 0, StreakLevel = 50 };
        RulerMark[] clicks = [ruler.Mark(50), ruler.Mark(150)];
        TickSearch search = TickFinder.Find(ruler.Draw(), clicks, Scale, Search);
        Assert.False(search.Found);
        Assert.Same(clicks, search.Marks);
        Assert.Equal("ticks-not-found", Assert.Single(search.Findings).Code);
        Assert.Equal(100, search.Scale.ReadingMmAt(ruler.At(100, 4)), 1e-6);
    }

    [Fact]
    public void Readings_that_do_not_belong_to_the_ticks_are_not_forced_onto_them()
    {
        SyntheticRuler ruler = new();
        TickSearch search = TickFinder.Find(ruler.Draw(), [ruler.Mark(50), ruler.Mark(150) with { ReadingMm = 160 }], Scale, Search);
        Assert.False(search.Found);
        Assert.Equal("ticks-not-found", Assert.Single(search.Findings).Code);
    }

    [Fact]
    public void Ticks_that_contradict_one_of_two_marks_are_not_used_but_told()
    {
        // 99 mm do not hold the 100 mm steps that are there; the centimetre ticks show what the reading would have to be.
        SyntheticRuler ruler = new();
        TickSearch search = TickFinder.Find(ruler.Draw(), [ruler.Mark(50), ruler.Mark(150) with { ReadingMm = 149 }], Scale, Search);
        Assert.False(search.Found);
        string message = Assert.Single(search.Findings).Message;
        Assert.Contains("disagree with the marks", message, StringComparison.Ordinal);
        // A dozen ticks on 800 px: good to hundredths of a millimetre.
        Assert.Matches(@"Mark 2 reads 149 mm, but by the ticks found its place reads (149\.9\d|150|150\.0\d) mm", message);
    }

    [Fact]
    public void A_click_on_a_neighbouring_tick_is_named()
    {
        SyntheticRuler ruler = new();
        RulerMark[] clicks = [ruler.Mark(50), ruler.Mark(70), ruler.Mark(91) with { ReadingMm = 90 }, ruler.Mark(110), ruler.Mark(130), ruler.Mark(150)];
        TickSearch search = TickFinder.Find(ruler.Draw(), clicks, Scale, Search);
        Assert.True(search.Found);
        Assert.Contains("Mark 3 reads 90 mm, but by the ticks found its place reads 91 mm", Assert.Single(search.Findings).Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("ringdown_lit_1080p30", 470, 80, 220, 0.02)]
    [InlineData("ringdown_dark_720p30", 290, 90, 210, 0.05)]
    public void Two_clicks_on_a_phone_picture_read_its_ticks_right(string clip, int firstRow, double fromMm, double toMm, double toleranceMm)
    {
        // The dark picture has ticks one or two brightness steps deep, coded as the first frame of a clip: tenths of a pixel of 7.8 px/mm remain.
        using JsonDocument document = JsonDocument.Parse(File.ReadAllText(Fixtures.PathOf("clips", clip, "truth.json")));
        var ticks = document.RootElement.GetProperty("ticks").EnumerateArray().ToDictionary(
            tick => tick.GetProperty("mm").GetDouble(),
            tick => new PicturePoint(tick.GetProperty("streak")[0].GetDouble(), tick.GetProperty("streak")[1].GetDouble()));
        RulerMark Click(double mm, double error) => new(ticks[mm] with { UPx = ticks[mm].UPx + error }, mm);

        TickSearch search = TickFinder.Find(Load(clip + ".png", firstRow), [Click(fromMm, 0.6), Click(toMm, -0.6)], Scale, Search);
        Assert.True(search.Found);
        Assert.All(ticks.Where(tick => tick.Key >= fromMm && tick.Key <= toMm),
            tick => Assert.Equal(tick.Key, search.Scale.ReadingMmAt(tick.Value), toleranceMm));
    }

    private static RulerPicture Load(string name, int firstRow)
    {
        using Image<L8> image = Image.Load<L8>(Fixtures.PathOf("ruler", name));
        float[] samples = new float[image.Width * image.Height];
        for (int y = 0; y < image.Height; y++)
        {
            for (int x = 0; x < image.Width; x++)
                samples[y * image.Width + x] = image[x, y].PackedValue;
        }

        return new RulerPicture(samples, image.Width, image.Height, 0, firstRow);
    }

    private static SyntheticRuler View(string name) => name switch
    {
        "square" => new(),
        // The picture's right end has half the scale of its left end.
        "slanted" => new() { AlongPerMm = 0.0025, PxPerMm = 9 },
        "turned" => new() { TurnDegrees = 6, Height = 400 },
        "upright" => new() { TurnDegrees = -88, Width = 300, Height = 1200, MiddleMm = 100 },
        "leaning" => new() { Lean = 0.1, AcrossPerMm = 0.004 },
        "streak" => new() { StreakLevel = 120 },
        "bright lines" => new() { TickDepth = -0.8 },
        "covered" => new() { Covered = (84, 103) },
        _ => throw new ArgumentOutOfRangeException(nameof(name), name, "No such view."),
    };
}
