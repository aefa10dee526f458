using System.Globalization;
using System.Text.Json;
using StreakTrack.Core;
using StreakTrack.Core.Scale;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Validation.Scale;

/// <summary>The ruler fit held against SciPy's least squares (fixtures/scale) and the published example H.3 of JCGM 100:2008.</summary>
public class RulerScaleTests
{
    // SciPy's fit stopped at a relative step below 4e-15; the bound leaves room for conditioning, not for another estimator.
    private const double RelativeAgreement = 1e-8;

    private static readonly JsonElement Calibration = ReadJson("calibration.json");
    private static readonly RulerMark[] CalibrationMarks = ReadPairs("calibration.csv", row => new RulerMark(new PicturePoint(row[1], 0), row[0]));

    [Fact]
    public void Projective_fit_of_the_calibration_set_equals_scipy()
    {
        RulerScale scale = RulerScaleFitter.Fit(CalibrationMarks, new RulerScaleOptions());
        JsonElement fit = Calibration.GetProperty("projective");

        Assert.Equal(RulerModel.Projective, scale.Model);
        Assert.Equal(ScatterOrigin.Estimated, scale.ScatterOrigin);
        AssertClose(fit.GetProperty("residual_sd").GetDouble(), scale.MarkScatter, RelativeAgreement);
        AssertClose(fit.GetProperty("chi2").GetDouble(), 21 * scale.RmsPx * scale.RmsPx, RelativeAgreement);
        // px = (p0 + p1 mm) / (1 + p2 mm): p0 is the place of reading 0, and p2 the only curvature.
        JsonElement p = fit.GetProperty("estimate"), se = fit.GetProperty("se_scaled");
        AssertClose(p.GetProperty("p0").GetDouble(), scale.PointAt(0).UPx, RelativeAgreement);
        AssertClose(se.GetProperty("p0").GetDouble(), scale.PlaceUncertaintyPx(0), 1e-6);
        double p0 = p.GetProperty("p0").GetDouble(), p1 = p.GetProperty("p1").GetDouble(), p2 = p.GetProperty("p2").GetDouble();
        Assert.All([37.0, 111.0, 200.0, 260.0],
            mm => AssertClose((p0 + p1 * mm) / (1 + p2 * mm), scale.PointAt(mm).UPx, RelativeAgreement));
    }

    [Fact]
    public void Coefficients_and_their_standard_errors_follow_from_scipys_by_a_change_of_variables()
    {
        RulerScale scale = RulerScaleFitter.Fit(CalibrationMarks, new RulerScaleOptions());
        JsonElement p = Calibration.GetProperty("projective").GetProperty("estimate");
        double p0 = p.GetProperty("p0").GetDouble(), p1 = p.GetProperty("p1").GetDouble(), p2 = p.GetProperty("p2").GetDouble();

        // mm = (px - p0) / (p1 - p2 px) with px = s + u0, hence with d = p1 - p2 u0: a = 1/d, b = (u0 - p0)/d, c = -p2/d.
        double u0 = scale.AxisOrigin.UPx, d = p1 - p2 * u0;
        AssertClose(1 / d, scale.A, RelativeAgreement);
        AssertClose((u0 - p0) / d, scale.B, RelativeAgreement);
        AssertClose(-p2 / d, scale.C, RelativeAgreement);
        // c = -p2/(p1 - p2 u0): derivatives p2/d^2 and -p1/d^2, with SciPy's covariance of (p1, p2).
        double[] se = [.. new[] { "p1", "p2" }.Select(name =>
            Calibration.GetProperty("projective").GetProperty("se_scaled").GetProperty(name).GetDouble())];
        double r = Calibration.GetProperty("projective").GetProperty("correlation")[1][2].GetDouble();
        double byP1 = p2 / (d * d) * se[0], byP2 = -p1 / (d * d) * se[1];
        AssertClose(Math.Sqrt(byP1 * byP1 + byP2 * byP2 + 2 * r * byP1 * byP2), Math.Sqrt(scale.CoefficientCovariance[2, 2]), 1e-6);
    }

    [Fact]
    public void Lengths_and_their_uncertainties_equal_scipys()
    {
        RulerScale scale = RulerScaleFitter.Fit(CalibrationMarks, new RulerScaleOptions());
        JsonElement lengths = Calibration.GetProperty("measured_lengths");
        Assert.Equal(4, lengths.GetArrayLength());
        foreach (JsonElement length in lengths.EnumerateArray())
        {
            PicturePoint a = new(length.GetProperty("px")[0].GetDouble(), 0), b = new(length.GetProperty("px")[1].GetDouble(), 0);
            UncertainValue found = scale.LengthMm(a, b);
            AssertClose(length.GetProperty("length_mm").GetDouble(), found.Value, RelativeAgreement);
            AssertClose(length.GetProperty("mm")[1].GetDouble(), scale.ReadingMmAt(b), RelativeAgreement);
            AssertClose(length.GetProperty("mm_per_px")[0].GetDouble(), scale.MillimetresPerPixelAt(a), 1e-7);
            // The shortest length is the small difference of two nearly equal gradients: six digits are what SciPy's covariance gives.
            AssertClose(length.GetProperty("u_length_from_calibration_mm").GetDouble(), found.StandardUncertainty, 1e-5);
        }
    }

    [Theory]
    [InlineData(RulerModel.Linear, "linear")]
    [InlineData(RulerModel.Projective, "projective")]
    public void Residual_sums_give_scipys_corrected_information_criterion(RulerModel model, string name)
    {
        RulerScale scale = RulerScaleFitter.Fit(CalibrationMarks, new RulerScaleOptions { Model = model });
        RulerModelScore score = Assert.Single(scale.Candidates);
        // AICc = n ln(RSS/n) + 2 n K/(n - K - 1), K = p + 1 (The Book of Statistical Proofs, AIC for least squares).
        double n = CalibrationMarks.Length, k = score.Parameters + 1;
        double aicc = n * Math.Log(score.SumOfSquaresPx2 / n) + 2 * n * k / (n - k - 1);
        Assert.Equal(Calibration.GetProperty(name).GetProperty("AICc").GetDouble(), aicc, 1e-6);
    }

    [Fact]
    public void The_cross_ratio_of_four_readings_survives_the_fit()
    {
        JsonElement crossRatio = Calibration.GetProperty("cross_ratio");
        RulerMark[] marks = [.. crossRatio.GetProperty("px_exact").EnumerateArray().Zip(crossRatio.GetProperty("mm").EnumerateArray(),
            (px, mm) => new RulerMark(new PicturePoint(px.GetDouble(), 300), mm.GetDouble()))];
        RulerScale scale = RulerScaleFitter.Fit(marks, new RulerScaleOptions());
        Assert.Equal(RulerModel.Projective, scale.Model);
        double[] x = [.. marks.Select(mark => scale.ReadingMmAt(mark.Point))];
        // 9/7 exactly; the map is through all four points, so only rounding is allowed for.
        Assert.Equal(9.0 / 7, (x[0] - x[2]) * (x[1] - x[3]) / ((x[1] - x[2]) * (x[0] - x[3])), 1e-9);
    }

    [Fact]
    public void Straight_line_part_gives_the_published_results_of_gum_example_h3()
    {
        // The corrections b are not in the order of the readings, so a straight line 100 px/mm of known slope is added: it shifts the slope by
        // 100 and changes neither the intercept nor any uncertainty. Corrections are scaled by 1000 px.
        RulerMark[] marks = ReadPairs("gum_h3.csv",
            row => new RulerMark(new PicturePoint(100 * (row[0] - 20) + 1000 * row[1], 40), row[0] - 20));
        RulerScale scale = RulerScaleFitter.Fit(marks, new RulerScaleOptions { Model = RulerModel.Linear });
        double y1 = scale.PointAt(0).UPx / 1000, y2 = (scale.PointAt(1).UPx - scale.PointAt(0).UPx - 100) / 1000;
        double b30 = scale.PointAt(10).UPx / 1000 - 1;

        // JCGM 100:2008, H.3: y1 = -0.1712 (0.0029), y2 = 0.002 18, s = 0.0035, b(30) = -0.1494 (0.0041); half a unit of the last digit.
        Assert.Equal(-0.1712, y1, 0.00005);
        Assert.Equal(0.0029, scale.PlaceUncertaintyPx(0) / 1000, 0.00005);
        Assert.Equal(0.00218, y2, 0.000005);
        // u(y2) = 0.000 67: a is the reciprocal of the slope.
        Assert.Equal(0.00067, Math.Sqrt(scale.CoefficientCovariance[0, 0]) / (scale.A * scale.A) / 1000, 0.000005);
        Assert.Equal(0.0035, scale.MarkScatter / 1000, 0.00005);
        Assert.Equal(-0.1494, b30, 0.00005);
        Assert.Equal(0.0041, scale.PlaceUncertaintyPx(10) / 1000, 0.00005);
        // More digits from SciPy on the same data; 1e-8 of the 100 px/mm that were added.
        JsonElement fit = ReadJson("gum_h3.json").GetProperty("fit");
        Assert.Equal(fit.GetProperty("estimate").GetProperty("y1").GetDouble(), y1, 1e-9);
        Assert.Equal(fit.GetProperty("estimate").GetProperty("y2").GetDouble(), y2, 1e-9);
        AssertClose(fit.GetProperty("se_scaled").GetProperty("y1").GetDouble(), scale.PlaceUncertaintyPx(0) / 1000, 1e-8);
        AssertClose(0.004138595752854942, scale.PlaceUncertaintyPx(10) / 1000, 1e-8);
        Assert.Equal(0.000110096583109, marks.Length * scale.RmsPx * scale.RmsPx / 1e6, 1e-14);
    }

    private static void AssertClose(double expected, double actual, double relative) =>
        Assert.InRange(actual, expected - relative * Math.Abs(expected), expected + relative * Math.Abs(expected));

    private static JsonElement ReadJson(string name)
    {
        using JsonDocument document = JsonDocument.Parse(File.ReadAllText(Fixtures.PathOf("scale", name)));
        return document.RootElement.Clone();
    }

    private static RulerMark[] ReadPairs(string name, Func<double[], RulerMark> mark) =>
        [.. File.ReadLines(Fixtures.PathOf("scale", name)).Where(line => !line.StartsWith('#')).Skip(1)
            .Select(line => mark([.. line.Split(',').Select(field => double.Parse(field, CultureInfo.InvariantCulture))]))];
}
