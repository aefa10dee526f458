using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Tests.Ruler;

public class RulerSurveyTests
{
    private static readonly DisplayOrientation Upright = DisplayOrientation.Upright(1200, 300);

    [Fact]
    public void A_still_ruler_is_measured_on_the_usual_picture()
    {
        SyntheticRuler ruler = new() { NoiseLevel = 6, StreakLevel = 100 };
        RawFrame[] frames = [.. Enumerable.Range(0, 8).Select(k => Frame(ruler with { Seed = k + 1, StreakHalfMm = 40 - 4 * k }))];
        RulerSurvey survey = RulerSurvey.Take(frames, Upright, [ruler.Mark(50, 0.5), ruler.Mark(150, -0.5)], new RulerScaleOptions(), new TickFinderOptions());
        Assert.False(survey.Moves);
        // Noise of 6 % of the brightness on thousands of pixels.
        Assert.InRange(survey.LargestMotionPx, 0, 0.15);
        Assert.True(survey.Search.Found);
        Assert.Equal(123, survey.Search.Scale.ReadingMmAt(ruler.At(123, 4)), 0.02);
    }

    [Fact]
    public void A_moving_ruler_is_measured_on_the_first_frame()
    {
        SyntheticRuler ruler = new() { MiddleMm = 75 };
        RawFrame[] frames = [.. Enumerable.Range(0, 6).Select(k => Frame(ruler with { Seed = k + 1, ShiftU = 1.3 * k, ShiftV = -0.7 * k }))];
        RulerSurvey survey = RulerSurvey.Take(frames, Upright, [ruler.Mark(20), ruler.Mark(130)], new RulerScaleOptions(), new TickFinderOptions());
        Assert.True(survey.Moves);
        Assert.Equal(Math.Sqrt(6.5 * 6.5 + 3.5 * 3.5), survey.LargestMotionPx, 0.1);
        Assert.Equal(100, survey.Search.Scale.ReadingMmAt(ruler.At(100, 4)), 0.02);
    }

    [Fact]
    public void A_ruler_in_the_dark_is_taken_as_still_and_unknown()
    {
        SyntheticRuler ruler = new();
        RawFrame black = new() { Region = new PixelRegion(0, 0, 1200, 300), Layout = PlaneLayout.Luma, Plane0 = new byte[1200 * 300] };
        RulerSurvey survey = RulerSurvey.Take([black, black, black], Upright, [ruler.Mark(50), ruler.Mark(150)], new RulerScaleOptions(), new TickFinderOptions());
        Assert.False(survey.Moves);
        Assert.True(double.IsNaN(survey.LargestMotionPx));
        Assert.False(survey.Search.Found);
        Assert.Equal(100, survey.Search.Scale.ReadingMmAt(ruler.At(100, 4)), 1e-6);
    }

    [Theory]
    [InlineData(1, 0, 0, 1)]
    [InlineData(0, 1, -1, 0)]
    [InlineData(-1, 0, 0, -1)]
    public void The_region_holds_the_ruler_however_the_clip_is_turned(int xx, int xy, int yx, int yy)
    {
        DisplayOrientation orientation = new(1200, 800, xx, xy, yx, yy);
        RulerMark[] marks = [.. new[] { 200.0, 900 }.Select(x => new RulerMark(orientation.ToDisplay(x, 500), x / 10))];
        PixelRegion? region = RulerSurvey.RegionOf(RulerScaleFitter.Fit(marks, new RulerScaleOptions()), orientation, 12);
        // 0.1 mm/px: 12 mm are 120 px on either side of row 500, over the whole picture.
        Assert.Equal(new PixelRegion(0, 380, 1200, 241), region);
    }

    [Fact]
    public void Marks_outside_the_picture_have_no_region()
    {
        RulerMark[] marks = [new(new PicturePoint(10, 900), 1), new(new PicturePoint(500, 900), 50)];
        Assert.Null(RulerSurvey.RegionOf(RulerScaleFitter.Fit(marks, new RulerScaleOptions()), Upright));
    }

    private static RawFrame Frame(SyntheticRuler ruler)
    {
        RulerPicture picture = ruler.Draw();
        byte[] luma = new byte[picture.Width * picture.Height];
        for (int v = 0; v < picture.Height; v++)
        {
            for (int u = 0; u < picture.Width; u++)
                luma[v * picture.Width + u] = (byte)Math.Clamp(Math.Round(picture.At(u, v)), 0, 255);
        }

        return new RawFrame { Region = new PixelRegion(0, 0, picture.Width, picture.Height), Layout = PlaneLayout.Luma, Plane0 = luma };
    }
}
