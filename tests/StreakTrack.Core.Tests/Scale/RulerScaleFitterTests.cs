using StreakTrack.Core.Findings;
using StreakTrack.Core.Scale;

namespace StreakTrack.Core.Tests.Scale;

public class RulerScaleFitterTests
{
    private static readonly RulerScaleOptions Defaults = new();

    // Clicks of known scatter on a slanted ruler of 8 px/mm: the numbers below are from a fixed list, so every test sees the same marks.
    private static readonly double[] Scatter = [0.31, -0.52, 0.12, 0.64, -0.23, -0.71, 0.45, 0.08, -0.36, 0.27, -0.15, 0.5];

    [Fact]
    public void Two_marks_give_a_straight_scale_with_the_assumed_scatter()
    {
        RulerScale scale = RulerScaleFitter.Fit([Mark(100, 50, 20), Mark(500, 50, 70)], Defaults with { AssumedScatterPx = 0.8 });
        Assert.Equal(RulerModel.Linear, scale.Model);
        Assert.Equal(45, scale.ReadingMmAt(new PicturePoint(300, 50)), 1e-10);
        Assert.Equal(0.125, scale.MillimetresPerPixelAt(new PicturePoint(300, 50)), 1e-12);
        Assert.Equal(ScatterOrigin.Assumed, scale.ScatterOrigin);
        // A length over the whole marked piece is off by the two clicks: sqrt(2) 0.8 px of 0.125 mm/px.
        Assert.Equal(Math.Sqrt(2) * 0.1, scale.LengthMm(new PicturePoint(100, 50), new PicturePoint(500, 50)).StandardUncertainty, 1e-9);
        Assert.Equal("few-marks", Assert.Single(scale.Findings).Code);
        Assert.All(scale.Residuals, residual => Assert.True(double.IsNaN(residual.StudentisedResidual)));
    }

    [Theory]
    [InlineData(1, 0)]
    [InlineData(-1, 0)]
    [InlineData(0, 1)]
    [InlineData(0, -1)]
    [InlineData(0.6, -0.8)]
    public void The_axis_points_toward_growing_readings_for_a_ruler_in_any_direction(double du, double dv)
    {
        RulerMark[] marks = [.. Enumerable.Range(0, 6).Select(i => Mark(900 + du * 80 * i, 500 + dv * 80 * i, 10 * i))];
        RulerScale scale = RulerScaleFitter.Fit(marks, Defaults);
        Assert.Equal(du, scale.AxisDirection.UPx, 1e-12);
        Assert.Equal(dv, scale.AxisDirection.VPx, 1e-12);
        Assert.Equal(25, scale.ReadingMmAt(new PicturePoint(900 + du * 200, 500 + dv * 200)), 1e-9);
        PicturePoint back = scale.PointAt(25);
        Assert.Equal(900 + du * 200, back.UPx, 1e-8);
        Assert.Equal(500 + dv * 200, back.VPx, 1e-8);
    }

    [Fact]
    public void The_order_of_the_marks_does_not_matter()
    {
        RulerMark[] marks = SlantedMarks(12);
        RulerScale one = RulerScaleFitter.Fit(marks, Defaults), other = RulerScaleFitter.Fit([.. marks.Reverse()], Defaults);
        // Sums in another order differ by rounding.
        Assert.Equal(one.ReadingMmAt(new PicturePoint(700, 400)), other.ReadingMmAt(new PicturePoint(700, 400)), 1e-9);
    }

    [Theory]
    [InlineData(4)]
    [InlineData(12)]
    public void Perspective_is_seen_when_the_marks_show_it(int count)
    {
        RulerScale scale = RulerScaleFitter.Fit(SlantedMarks(count), Defaults);
        Assert.Equal(RulerModel.Projective, scale.Model);
        // 0.3 mm is three clicks of 0.8 px at 8 px/mm; a straight line would be 5 mm off in the middle.
        Assert.Equal(150, scale.ReadingMmAt(SlantedPlace(150)), 0.3);
    }

    [Fact]
    public void A_square_view_is_not_given_a_perspective_by_chance()
    {
        RulerMark[] marks = [.. Scatter.Select((e, i) => Mark(100 + 150 * i + e, 400, 10 * i))];
        Assert.Equal(RulerModel.Linear, RulerScaleFitter.Fit(marks, Defaults).Model);
    }

    [Fact]
    public void A_lens_term_is_seen_and_undone()
    {
        // Barrel distortion: s = t (1 - 3e-8 t^2) about the picture's centre, 19 px at 860 px, far above the scatter.
        static PicturePoint Place(double mm)
        {
            double t = (mm - 100) * 8.6;
            return new PicturePoint(960 + t * (1 - 3e-8 * t * t), 540);
        }

        RulerMark[] marks = [.. Scatter.Select((e, i) => Mark(Place(200.0 * i / 11).UPx + e, 540, 200.0 * i / 11))];
        RulerScale scale = RulerScaleFitter.Fit(marks, Defaults with { PictureCentre = new PicturePoint(960, 540) });
        Assert.Equal(RulerModel.ProjectiveWithLens, scale.Model);
        Assert.Equal(-3e-8, scale.Lens, 3 * Math.Sqrt(scale.CoefficientCovariance[3, 3]));
        Assert.Equal(55, scale.ReadingMmAt(Place(55)), 0.2);
        Assert.Equal(scale.PointAt(55).UPx, scale.PointAt(scale.ReadingMmAt(scale.PointAt(55))).UPx, 1e-8);
    }

    [Fact]
    public void Coefficients_repeat_the_map()
    {
        RulerScale scale = RulerScaleFitter.Fit(SlantedMarks(12), Defaults);
        double s = 311;
        PicturePoint point = new(scale.AxisOrigin.UPx + s * scale.AxisDirection.UPx, scale.AxisOrigin.VPx + s * scale.AxisDirection.VPx);
        Assert.Equal((scale.A * s + scale.B) / (1 + scale.C * s), scale.ReadingMmAt(point), 1e-9);
        Assert.Equal(scale.ReadingMmAt(point), scale.ReadingMmAt(scale.PointAt(scale.ReadingMmAt(point))), 1e-9);
    }

    [Fact]
    public void Stated_length_uncertainty_is_the_scatter_of_lengths_over_repeated_clicking()
    {
        PicturePoint a = SlantedPlace(60), b = SlantedPlace(240);
        Random random = new(20);
        List<double> errors = [];
        double stated = 0;
        for (int trial = 0; trial < 400; trial++)
        {
            RulerMark[] marks = [.. Enumerable.Range(0, 12).Select(i => SlantedMark(300.0 * i / 11, 0.6 * Gaussian(random)))];
            UncertainValue length = RulerScaleFitter.Fit(marks, Defaults with { Model = RulerModel.Projective }).LengthMm(a, b);
            errors.Add(length.Value - 180);
            stated += length.StandardUncertainty * length.StandardUncertainty / 400;
        }

        // The standard deviation of 400 errors is itself known to 3.5 %; three times that, and the small-sample scatter of the stated ones.
        double actual = Math.Sqrt(errors.Average(e => e * e));
        Assert.InRange(Math.Sqrt(stated) / actual, 0.88, 1.12);
    }

    [Fact]
    public void A_wrong_reading_is_named_with_what_the_others_predict()
    {
        RulerMark[] marks = SlantedMarks(8);
        marks[4] = marks[4] with { ReadingMm = marks[4].ReadingMm + 2 };
        RulerScale scale = RulerScaleFitter.Fit(marks, Defaults);
        Finding doubt = Assert.Single(scale.Findings);
        Assert.Equal("mark-doubtful", doubt.Code);
        Assert.Contains("Mark 5 reads 173.429 mm", doubt.Message, StringComparison.Ordinal);
        Assert.Equal([5], scale.Residuals.Where(residual => residual.Doubtful).Select(residual => residual.Number));
        // The others' scale is good to about a click of 0.8 px = 0.1 mm.
        Assert.Equal(171.43, scale.Residuals[4].PredictedReadingMm, 0.3);
    }

    [Fact]
    public void Two_wrong_readings_do_not_hide_each_other()
    {
        RulerMark[] marks = SlantedMarks(12);
        marks[3] = marks[3] with { ReadingMm = marks[3].ReadingMm + 5 };
        marks[8] = marks[8] with { ReadingMm = marks[8].ReadingMm + 5 };
        RulerScale scale = RulerScaleFitter.Fit(marks, Defaults);
        Assert.Equal([4, 9], scale.Residuals.Where(residual => residual.Doubtful).Select(residual => residual.Number));
    }

    [Fact]
    public void Good_marks_are_rarely_doubted()
    {
        Random random = new(4);
        int doubted = Enumerable.Range(0, 300).Count(_ =>
            RulerScaleFitter.Fit([.. Enumerable.Range(0, 10).Select(i => SlantedMark(30 * i, 0.6 * Gaussian(random)))], Defaults)
                .Residuals.Any(residual => residual.Doubtful));
        // The level is 1 %; 300 trials allow 3 +- 1.7, and 10 is four standard deviations above.
        Assert.InRange(doubted, 0, 10);
    }

    [Fact]
    public void A_mark_set_beside_the_ruler_is_named()
    {
        RulerMark[] marks = [.. Enumerable.Range(0, 7).Select(i => Mark(100 + 160 * i, i == 3 ? 700 : 400, 20 * i))];
        RulerScale scale = RulerScaleFitter.Fit(marks, Defaults);
        Assert.Contains(scale.Findings, finding => finding.Code == "mark-doubtful" && finding.Message.StartsWith("Mark 4", StringComparison.Ordinal));
    }

    [Fact]
    public void Points_off_the_axis_are_carried_along_the_ticks()
    {
        RulerMark[] marks = [.. Enumerable.Range(0, 5).Select(i => Mark(100 + 200 * i, 400, 20 * i))];
        RulerScale square = RulerScaleFitter.Fit(marks, Defaults);
        RulerScale slanted = RulerScaleFitter.Fit(marks, Defaults with { Ticks = TickDirections.Parallel(1, -2) });
        PicturePoint above = new(500, 360);
        Assert.Equal(40, square.ReadingMmAt(above), 1e-9);
        // Going down 40 px along (1, -2) goes left 20 px, 2 mm.
        Assert.Equal(38, slanted.ReadingMmAt(above), 1e-9);
        Assert.Equal(0.1, slanted.MillimetresPerPixelAt(above), 1e-12);
    }

    [Fact]
    public void Ticks_that_meet_in_a_point_shrink_what_lies_nearer_to_it()
    {
        RulerMark[] marks = [.. Enumerable.Range(0, 5).Select(i => Mark(100 + 200 * i, 400, 20 * i))];
        RulerScale scale = RulerScaleFitter.Fit(marks, Defaults with { Ticks = TickDirections.MeetingAt(500, -1600, 1) });
        // Half-way to the meeting point, 2000 px above the axis, everything is half as long: 300 px from the centre line carry to 600 px.
        Assert.Equal(40 + 60, scale.ReadingMmAt(new PicturePoint(800, -600)), 1e-9);
        Assert.Equal(0.2, scale.MillimetresPerPixelAt(new PicturePoint(800, -600)), 1e-12);
    }

    [Fact]
    public void Beyond_the_vanishing_point_there_is_no_reading()
    {
        RulerMark[] marks = [.. new double[] { 0, 50, 100, 150, 200 }.Select(mm => Mark(1000 * mm / (1 + 0.004 * mm) / 200, 10, mm))];
        RulerScale scale = RulerScaleFitter.Fit(marks, Defaults with { Model = RulerModel.Projective });
        // px = 5 mm / (1 + 0.004 mm) tends to 1250 px.
        Assert.False(double.IsNaN(scale.ReadingMmAt(new PicturePoint(1240, 10))));
        Assert.True(double.IsNaN(scale.ReadingMmAt(new PicturePoint(1260, 10))));
        Assert.True(double.IsNaN(scale.LengthMm(new PicturePoint(0, 10), new PicturePoint(1260, 10)).Value));
    }

    [Fact]
    public void The_rulers_class_enters_the_uncertainty_of_a_length_beside_the_marks()
    {
        RulerScale scale = RulerScaleFitter.Fit(SlantedMarks(12), Defaults with { AccuracyClass = RulerAccuracyClass.II });
        LengthUncertainty budget = scale.LengthBudget(SlantedPlace(50), SlantedPlace(250));
        // Directive 2014/32/EU, annex X: 0.3 + 0.2 x 1 m = 0.5 mm, rectangular.
        Assert.Equal(0.5 / Math.Sqrt(3), budget.RulerMm, 1e-12);
        Assert.Equal(Math.Sqrt(budget.MarksMm * budget.MarksMm + budget.RulerMm * budget.RulerMm), budget.CombinedMm, 1e-12);
        Assert.Equal(budget.CombinedMm, scale.LengthMm(SlantedPlace(50), SlantedPlace(250)).StandardUncertainty, 1e-12);
    }

    [Fact]
    public void Marks_with_stated_uncertainties_are_weighted_by_them()
    {
        // Two exact ticks, and two rough ones that disagree: the exact ones win.
        RulerMark[] marks =
        [
            Mark(100, 0, 0) with { StandardUncertaintyPx = 0.01 }, Mark(500, 0, 50) with { StandardUncertaintyPx = 3 },
            Mark(502, 0, 50) with { StandardUncertaintyPx = 3 }, Mark(900, 0, 100) with { StandardUncertaintyPx = 0.01 },
        ];
        RulerScale scale = RulerScaleFitter.Fit(marks, Defaults with { Model = RulerModel.Linear });
        Assert.Equal(ScatterOrigin.Stated, scale.ScatterOrigin);
        Assert.Equal(50, scale.ReadingMmAt(new PicturePoint(500, 0)), 1e-3);
        // The residuals are smaller than stated, so the stated uncertainty stands: 0.01 px at each end, 0.125 mm/px.
        Assert.Equal(Math.Sqrt(2) * 0.01 * 0.125, scale.LengthMm(marks[0].Point, marks[3].Point).StandardUncertainty, 1e-6);
    }

    [Fact]
    public void Unusable_marks_are_refused_with_what_and_where()
    {
        AssertRefused("ruler marks", "there are none");
        AssertRefused("ruler marks", "there is only one", Mark(1, 2, 3));
        AssertRefused("marks 1 and 3", "same spot", Mark(100, 50, 20), Mark(500, 50, 70), Mark(100.2, 50, 30));
        AssertRefused("marks 1 and 2", "both read 20 mm", Mark(100, 50, 20), Mark(500, 50, 20), Mark(700, 50, 30));
        AssertRefused("mark 2", "not a place", Mark(100, 50, 20), Mark(double.NaN, 50, 20));
        AssertRefused("mark 1", "not a place", Mark(100, 50, double.PositiveInfinity), Mark(200, 50, 20));
        AssertRefused("mark 1", "not a place", Mark(1e300, 50, 1), Mark(200, 50, 20));
        AssertRefused("ruler marks", "all have the reading", Mark(100, 50, 20), Mark(101, 50, 20));
        AssertRefused("mark 3", "out of order: the other marks read about 40 mm",
            Mark(100, 50, 20), Mark(200, 50, 30), Mark(300, 50, 400), Mark(400, 50, 50), Mark(500, 50, 60));
        AssertRefused("marks", "out of order along the ruler",
            Mark(100, 50, 20), Mark(200, 50, 60), Mark(300, 50, 30), Mark(400, 50, 70), Mark(500, 50, 40));
    }

    [Fact]
    public void Options_out_of_range_are_the_callers_fault()
    {
        RulerMark[] marks = [Mark(100, 50, 20), Mark(500, 50, 70)];
        Assert.Throws<ArgumentOutOfRangeException>(() => RulerScaleFitter.Fit(marks, Defaults with { AssumedScatterPx = double.NaN }));
        Assert.Throws<ArgumentOutOfRangeException>(() => RulerScaleFitter.Fit(marks, Defaults with { DoubtLevel = 0 }));
        Assert.Throws<ArgumentOutOfRangeException>(() => RulerScaleFitter.Fit(marks, Defaults with { Ticks = TickDirections.Parallel(1, 0.01) }));
    }

    private static void AssertRefused(string subject, string problem, params RulerMark[] marks)
    {
        UnusableInputException refusal = Assert.Throws<UnusableInputException>(() => RulerScaleFitter.Fit(marks, Defaults));
        Assert.StartsWith(subject, refusal.Subject, StringComparison.Ordinal);
        Assert.Contains(problem, refusal.Problem, StringComparison.Ordinal);
        Assert.NotEmpty(refusal.NextStep);
    }

    private static RulerMark Mark(double u, double v, double mm) => new(new PicturePoint(u, v), mm);

    private static RulerMark[] SlantedMarks(int count) =>
        [.. Enumerable.Range(0, count).Select(i => SlantedMark(300.0 * i / (count - 1), Scatter[i % Scatter.Length]))];

    private static RulerMark SlantedMark(double mm, double errorPx)
    {
        PicturePoint place = SlantedPlace(mm);
        return new RulerMark(place with { UPx = place.UPx + errorPx }, mm);
    }

    // A ruler seen under perspective: 7 px/mm at one end, 5 px/mm at the other.
    private static PicturePoint SlantedPlace(double mm)
    {
        double s = 7 * mm / (1 + 6e-4 * mm);
        return new PicturePoint(50 + 0.995 * s, 300 + 0.0998749 * s);
    }

    private static double Gaussian(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
