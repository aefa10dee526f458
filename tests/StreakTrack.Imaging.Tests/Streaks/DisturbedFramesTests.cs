using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Tests.Streaks;

/// <summary>Frames that must not be used: something hides a part of the streak, or the picture is that of another time.</summary>
public class DisturbedFramesTests
{
    private const int Frames = 120;

    [Fact]
    public void Dip_of_the_light_is_something_in_the_way_and_a_lasting_step_is_not()
    {
        double[] light = [.. Enumerable.Range(0, Frames).Select(k => (k >= 70 ? 60.0 : 100) * (1 + 0.02 * Math.Sin(37 * k)))];
        for (int k = 30; k < 36; k++)
            light[k] *= 0.6;
        double[] same = [.. light.Select(_ => 1.0)], exposure = [.. light.Select((_, k) => k >= 70 ? 0.6 : 1)];

        // A room too dark to tell the exposure, and one that tells it.
        Assert.Equal(Enumerable.Range(30, 6), Where(HiddenLight.Of(light, same, Sure)));
        Assert.Equal(Enumerable.Range(30, 6), Where(HiddenLight.Of([.. light.Select((l, k) => l / exposure[k])], exposure, Sure)));
    }

    [Fact]
    public void Shadow_on_the_ruler_is_nothing_in_the_way()
    {
        // The scene darkens by a third, and the streak, brought to one exposure by it, seems brighter.
        double[] gains = [.. Enumerable.Range(0, Frames).Select(k => k is >= 50 and < 60 ? 0.67 : 1)];
        Assert.Empty(Where(HiddenLight.Of([.. gains.Select(g => 100 / g)], gains, Sure)));
        // And brighter light on the ruler makes it seem fainter.
        gains = [.. gains.Select(g => 1 / g)];
        Assert.Empty(Where(HiddenLight.Of([.. gains.Select(g => 100 / g)], gains, Sure)));
    }

    [Fact]
    public void Light_that_is_not_known_well_lacks_nothing()
    {
        // 40 % lack beside a light that is known to a tenth of what is left, and to a fifth: 0.67 against five times that.
        double[] light = [.. Enumerable.Range(0, Frames).Select(k => (k is >= 30 and < 36 ? 60.0 : 100) * (1 + 0.02 * Math.Sin(37 * k)))];
        double[] same = [.. light.Select(_ => 1.0)];
        Assert.Equal(Enumerable.Range(30, 6), Where(HiddenLight.Of(light, same, [.. Sure.Select(_ => 0.1)])));
        Assert.Empty(Where(HiddenLight.Of(light, same, [.. Sure.Select(_ => 0.2)])));
        Assert.Empty(Where(HiddenLight.Of(light, same, [.. Sure.Select(_ => double.NaN)])));
    }

    [Theory]
    [InlineData(0, 60)]
    [InlineData(0.004, 60)]
    [InlineData(0.004, 1000)]
    public void End_that_the_ruler_cuts_displaces_the_middle(double obliquePerMm, double cutMm)
    {
        // A decay about 50 mm, seen obliquely: the middle shifts with the square of the amplitude.
        var readings = new StreakReading[Frames];
        for (int k = 0; k < Frames; k++)
        {
            double amplitude = 30 * Math.Exp(-k / 40.0), shift = obliquePerMm * amplitude * amplitude + 0.05 * Math.Sin(31 * k);
            readings[k] = Reading(k, 50 - amplitude + shift, Math.Min(50 + amplitude + shift, cutMm));
        }

        Assert.True(SteadyMiddle.Check(readings, Scale, sigmaPx: 5));

        // Cut by more than a spot's half width in any case, and never when whole.
        foreach (StreakReading reading in readings)
        {
            double missing = 50 + 30 * Math.Exp(-reading.Frame / 40.0) + obliquePerMm * 900 * Math.Exp(-reading.Frame / 20.0) - cutMm;
            if (missing is < -0.3 or > 1.2)
                Assert.Equal(missing > 0 ? FrameFlags.PartHidden : FrameFlags.None, reading.Flags);
        }
    }

    [Fact]
    public void Middle_that_keeps_no_place_is_told_and_no_frame_is_held_for_whole_or_hidden()
    {
        // The piece that is seen wanders along the ruler, now to the left, now to the right, while the streak becomes shorter.
        StreakReading[] readings =
        [
            .. Enumerable.Range(0, Frames).Select(k => (Half: 15 * Math.Exp(-k / 60.0), Middle: 50 + 20 * Math.Sin(0.7 * k)))
                .Select((piece, k) => Reading(k, piece.Middle - piece.Half, piece.Middle + piece.Half)),
        ];
        Assert.False(SteadyMiddle.Check(readings, Scale, sigmaPx: 5));
        Assert.All(readings, r => Assert.Equal(FrameFlags.None, r.Flags));
    }

    [Fact]
    public void Repeated_pictures_are_found_when_they_are_more_than_chance()
    {
        double[] changes = [double.NaN, .. Enumerable.Range(1, Frames - 1).Select(k => k % 5 == 0 ? 0.02 : 1 + 0.6 * Math.Sin(23 * k))];
        Assert.Equal(Enumerable.Range(1, 23).Select(k => 5 * k), Where(RepeatedPictures.Of(changes)));
        double[] few = [.. changes.Select((c, k) => k % 5 == 0 && k is not (20 or 70) ? 1 : c)];
        Assert.Empty(Where(RepeatedPictures.Of(few)));
    }

    private static double[] Sure => new double[Frames];

    private static RulerScale Scale => RulerScaleFitter.Fit(
        [new RulerMark(new PicturePoint(0, 0), 0), new RulerMark(new PicturePoint(1000, 0), 100)], new RulerScaleOptions());

    private static StreakReading Reading(int frame, double firstMm, double secondMm) => new()
    {
        Frame = frame, TimeSeconds = frame / 30.0, HalfLengthUncertaintyPx = 0.5,
        FirstEnd = new PicturePoint(10 * firstMm, 0), SecondEnd = new PicturePoint(10 * secondMm, 0),
    };

    private static IEnumerable<int> Where(bool[] flagged) => Enumerable.Range(0, flagged.Length).Where(k => flagged[k]);
}
