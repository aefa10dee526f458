using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Tests.Streaks;

public class StraightRulerTests
{
    private const double MiddleMm = 150, PxPerMm = 6, BendPerMm = 0.0015;

    private static readonly StripGeometry Band = StripGeometry.Along(
        DisplayOrientation.Upright(1200, 100), new RulerAxis(new PicturePoint(600, 50), 1, 0), 5);

    // A ruler in perspective: readings to the right lie farther away.
    private static double PlacePx(double readingMm, double bendPerMm)
    {
        double r = readingMm - MiddleMm;
        return 600 + (PxPerMm * r / (1 + (bendPerMm * r)));
    }

    private static RulerScale Scale(double bendPerMm) => RulerScaleFitter.Fit(
        [.. Enumerable.Range(-6, 13).Select(k => new RulerMark(new PicturePoint(PlacePx(MiddleMm + (10 * k), bendPerMm), 50), MiddleMm + (10 * k)))],
        new RulerScaleOptions());

    [Fact]
    public void Straightened_places_are_as_far_apart_as_the_readings()
    {
        RulerScale scale = Scale(BendPerMm);
        StraightRuler straight = StraightRuler.Of(scale, Band)!;

        double[] readings = [.. Enumerable.Range(0, straight.Length).Select(x => scale.ReadingMmAt(Band.ToDisplay(straight.ToStrip(x), 0)))];
        double stepMm = scale.MiddleMillimetresPerPixel;
        Assert.All(Enumerable.Range(1, readings.Length - 1), x => Assert.Equal(stepMm, readings[x] - readings[x - 1], 0.001 * stepMm));
        Assert.True(straight.Length > 0.9 * Band.LengthPx);

        // Against the map itself, which the fit of the scale has no part in.
        double first = straight.ToStrip(0), last = straight.ToStrip(straight.Length - 1);
        double FromMm(double place) => MiddleMm + ((place - 600) / (PxPerMm - (BendPerMm * (place - 600))));
        Assert.Equal((straight.Length - 1) * stepMm, FromMm(last) - FromMm(first), 0.05);
    }

    [Fact]
    public void Each_place_receives_the_light_of_its_place_on_the_strip()
    {
        StraightRuler straight = StraightRuler.Of(Scale(BendPerMm), Band)!;
        float[] profile = [.. Enumerable.Range(0, Band.LengthPx).Select(s => (float)Math.Exp(-0.5 * Math.Pow((s - 300.4) / 6, 2)))];
        float[] straightened = new float[straight.Length];

        straight.Straighten(profile, straightened);

        int brightest = Array.IndexOf(straightened, straightened.Max());
        Assert.Equal(300.4, straight.ToStrip(brightest), 1.0);
    }

    // A ruler is as bright wherever it is seen from, but the streak's image is as wide across as its distance makes it: with places z away,
    // mm along are 1/z^2 long and mm across 1/z. Least squares of a Gaussian shape of width 1 make sqrt 2 w / sqrt(1 + w^2) of one as high and w wide (the
    // integral of the product of the two).
    [Fact]
    public void Equal_light_is_equally_bright_near_and_far()
    {
        StraightRuler straight = StraightRuler.Of(Scale(BendPerMm), Band)!;
        float[] profile = new float[Band.LengthPx];
        for (int s = 0; s < profile.Length; s++)
        {
            double r = (s - 600) / (PxPerMm - (BendPerMm * (s - 600))), width = 1 / (1 + (BendPerMm * r));
            profile[s] = (float)(Math.Sqrt(2) * width / Math.Sqrt(1 + (width * width)));
        }

        float[] straightened = new float[straight.Length];
        straight.Straighten(profile, straightened);

        Assert.True(profile.Max() / profile.Min() > 1.1);
        Assert.InRange(straightened.Max() / straightened.Min(), 1, 1.01);
    }

    [Fact]
    public void A_ruler_seen_straight_on_needs_none() => Assert.Null(StraightRuler.Of(Scale(0), Band));

    [Fact]
    public void Clipped_samples_stay_unknown()
    {
        StraightRuler straight = StraightRuler.Of(Scale(BendPerMm), Band)!;
        float[] profile = new float[Band.LengthPx], straightened = new float[straight.Length];
        profile[700] = float.NaN;

        straight.Straighten(profile, straightened);

        Assert.InRange(straightened.Count(float.IsNaN), 1, 4);
        Assert.All(
            Enumerable.Range(0, straightened.Length).Where(x => float.IsNaN(straightened[x])),
            x => Assert.Equal(700, straight.ToStrip(x), 1.0));
    }
}
