using MathNet.Numerics.Distributions;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Tables;

namespace StreakTrack.Core.Tests.Studies;

public class ResonanceStudiesTests
{
    private static double Exact(double f, double a0, double f0, double q) =>
        a0 / Math.Sqrt(Math.Pow(1 - (f / f0 * f / f0), 2) + Math.Pow(f / (f0 * q), 2));

    private static ResonancePoint[] Curve(double f0, double q, double from, double to, int count, double noise = 0, int seed = 1)
    {
        var random = new Random(seed);
        double scale = 30 / Exact(f0, 1, f0, q);
        return
        [
            .. Enumerable.Range(0, count).Select(i => from + ((to - from) * i / (count - 1.0)))
                .Select(f => new ResonancePoint(f, Exact(f, scale, f0, q) + (noise * Normal.Sample(random, 0, 1)))),
        ];
    }

    // Expected: the parameters that made the points, exactly; tolerance: rounding. High and low Q, wide and narrow scans.
    [Theory]
    [InlineData(40, 300, 39.5, 40.6, 23)]
    [InlineData(40, 300, 30, 50, 201)]
    [InlineData(23.47, 20, 20, 26, 15)]
    [InlineData(1.6, 2, 0.3, 4, 12)]
    [InlineData(1e6, 1e5, 999_970, 1_000_040, 30)]
    public void A_clean_curve_gives_back_its_parameters(double f0, double q, double from, double to, int count)
    {
        ResonanceStudy study = ResonanceStudies.Run(Curve(f0, q, from, to, count));
        Assert.Equal(f0, study.Fit.F0Hz.Value, 1e-9 * f0);
        Assert.Equal(q, study.Fit.QualityFactor.Value, 1e-8 * q);
        Assert.Equal(q / (Math.PI * f0), study.Fit.TauSeconds.Value, 1e-8 * q / f0);
        Assert.Equal(30 * q / (q * Math.Sqrt(1 - (0.25 / (q * q)))), study.Fit.PeakResponse.Value, 1e-7 * 30);
    }

    // The stated 95 % interval of Q over 200 noisy curves: binomial standard error 1.5 %; allowed: three of those.
    [Fact]
    public void The_interval_of_Q_keeps_its_promise()
    {
        const int trials = 200;
        int inside = Enumerable.Range(0, trials).Count(seed =>
            ResonanceStudies.Run(Curve(40, 300, 39.6, 40.4, 15, 0.5, seed)).Fit.Parameters[2].Profile95.Contains(300));
        Assert.InRange(inside / (double)trials, 0.904, 0.996);
    }

    [Fact]
    public void Q_from_the_width_is_held_against_Q_from_the_decay()
    {
        ResonancePoint[] points = Curve(40, 300, 39.6, 40.4, 25, 0.2);
        double tau = 300 / (Math.PI * 40);
        ResonanceStudy agreeing = ResonanceStudies.Run(points, new ResonanceOptions { TauSeconds = new(tau, 0.01 * tau) });
        Assert.True(agreeing.Comparison!.Agree);
        Assert.DoesNotContain(agreeing.Findings, f => f.Code == "quality-factors-disagree");

        ResonanceStudy differing = ResonanceStudies.Run(points, new ResonanceOptions { TauSeconds = new(1.2 * tau, 0.01 * tau) });
        Assert.False(differing.Comparison!.Agree);
        Assert.Equal(1.2 * 300, differing.Comparison!.FromDecay.Value, 1);
        Assert.Contains(differing.Findings, f => f.Code == "quality-factors-disagree");
    }

    [Fact]
    public void A_peak_outside_the_scan_is_an_error()
    {
        ResonanceStudy study = ResonanceStudies.Run(Curve(40, 300, 39, 39.95, 25));
        Assert.Equal("Error", study.Findings.Single(f => f.Code == "peak-at-edge").Severity.ToString());
    }

    [Fact]
    public void A_scan_that_ends_on_the_peak_is_doubted()
    {
        ResonanceStudy study = ResonanceStudies.Run(Curve(40, 300, 39.5, 40.03, 25));
        Assert.Equal("Warning", study.Findings.Single(f => f.Code == "peak-at-edge").Severity.ToString());
    }

    [Fact]
    public void A_coarse_scan_is_doubted()
    {
        ResonanceStudy study = ResonanceStudies.Run(Curve(40, 300, 39.05, 40.95, 20));
        Assert.Contains(study.Findings, f => f.Code == "few-points-across-peak");
    }

    [Fact]
    public void A_curve_of_another_shape_is_noticed()
    {
        // A peak that leans over, as of a stiffening spring: each frequency shifted in proportion to the squared amplitude.
        ResonancePoint[] leaning = [.. Curve(40, 300, 39.6, 40.4, 41).Select(p => p with { FrequencyHz = p.FrequencyHz + (5e-5 * p.Response * p.Response) })];
        Assert.Contains(ResonanceStudies.Run(leaning).Findings, f => f.Code == "response-shape");
    }

    [Fact]
    public void The_order_of_the_points_does_not_matter()
    {
        ResonancePoint[] points = Curve(40, 300, 39.6, 40.4, 25, 0.3);
        double sorted = ResonanceStudies.Run(points).Fit.QualityFactor.Value;
        Array.Reverse(points);
        Assert.Equal(sorted, ResonanceStudies.Run(points).Fit.QualityFactor.Value);
    }

    [Fact]
    public void Unusable_points_are_refused()
    {
        ResonancePoint[] good = Curve(40, 300, 39.6, 40.4, 25);
        Refuse(good[..3], "at least 4 points");
        Refuse([.. good.Select(p => p with { FrequencyHz = 40 })], "different frequencies");
        Refuse([.. good, new ResonancePoint(double.NaN, 1)], "not positive");
        Refuse([.. good, new ResonancePoint(-1, 1)], "not positive");
        Refuse([.. good, new ResonancePoint(41, 1, 0)], "uncertainty is not positive");
        Refuse([.. good, new ResonancePoint(41, 1, 0.1)], "only 1 of 26");
        Refuse([.. good.Select(p => p with { Response = 0 })], "resonance");

        static void Refuse(ResonancePoint[] points, string words) =>
            Assert.Contains(words, Assert.Throws<UnusableInputException>(() => ResonanceStudies.Run(points)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_table_names_its_quantity_in_the_header()
    {
        CsvTable table = CsvTable.Parse("frequency_hz,amplitude_mrad,amplitude_u_mrad\n39,1,0.1\n40,5,0.2\n", "r.csv");
        IReadOnlyList<ResonancePoint> points = ResonanceStudies.PointsFrom(table, out ResonanceOptions options);
        Assert.Equal([new ResonancePoint(39, 1, 0.1), new ResonancePoint(40, 5, 0.2)], points);
        Assert.Equal("mrad", options.ResponseUnit);
        ResonanceStudies.PointsFrom(CsvTable.Parse("power,frequency_hz\n1,2\n", "r.csv"), out options);
        Assert.Equal(ResponseModel.PowerLorentzian, options.Response);
        Assert.Contains("r.csv line 1", Assert.Throws<UnusableInputException>(
            () => ResonanceStudies.PointsFrom(CsvTable.Parse("frequency_hz,height\n1,2\n", "r.csv"), out _)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Work_can_be_cancelled()
    {
        Assert.Throws<OperationCanceledException>(
            () => ResonanceStudies.Run(Curve(40, 300, 39.6, 40.4, 25), null, "x", new CancellationToken(true)));
    }
}
