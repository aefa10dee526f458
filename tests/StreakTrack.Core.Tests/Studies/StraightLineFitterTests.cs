using MathNet.Numerics.Distributions;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Tests.Studies;

public class StraightLineFitterTests
{
    private static readonly double[] X = [0, 0.5, 1.1, 1.4, 2.2, 2.9, 3.1];
    private static readonly double[] Y = [1.02, 1.9, 3.3, 3.7, 5.5, 6.7, 7.3];

    [Fact]
    public void Points_on_a_line_give_that_line()
    {
        StraightLine line = StraightLineFitter.Fit([.. X.Select(x => new LinePoint(x, 2 - (3 * x)))]);
        Assert.Equal(2, line.Intercept.Value, 1e-13);
        Assert.Equal(-3, line.Slope.Value, 1e-13);
        Assert.Equal(0, line.ResidualDeviation, 1e-13);
        Assert.Equal(2.0 / 3, line.ZeroCrossing.Value, 1e-13);
        Assert.Empty(line.Findings);
    }

    // Expected: the maximum-likelihood line minimises sum (y - a - b x)²/(uy² + b² ux² - 2 b cov). Found here by brute force: a
    // golden-section
    // search in b, with the best a in closed form. Tolerance 1e-7: half the digits, as a minimum of a parabola is flat.
    [Theory]
    [InlineData(0.0)]
    [InlineData(0.6)]
    [InlineData(-0.9)]
    public void The_line_minimises_the_weighted_distances_for_any_correlation(double correlation)
    {
        LinePoint[] points = [.. X.Select((x, i) => new LinePoint(x, Y[i], 0.05 + (0.03 * i), 0.1 + (0.02 * (i % 3)), correlation))];
        StraightLine line = StraightLineFitter.Fit(points);
        double low = 1.5, high = 2.5;
        double golden = (Math.Sqrt(5) - 1) / 2;
        while (high - low > 1e-10)
        {
            double left = high - (golden * (high - low));
            double right = low + (golden * (high - low));
            (low, high) = Distance(left) < Distance(right) ? (low, right) : (left, high);
        }

        Assert.Equal((low + high) / 2, line.Slope.Value, 1e-7);
        Assert.Equal(Distance((low + high) / 2), line.ChiSquare, 1e-10);

        double Distance(double b)
        {
            double[] w = [.. points.Select(p => 1 / ((p.YUncertainty * p.YUncertainty) + (b * b * p.XUncertainty * p.XUncertainty)
                - (2 * b * p.Correlation * p.XUncertainty * p.YUncertainty)))];
            double a = points.Select((p, i) => w[i] * (p.Y - (b * p.X))).Sum() / w.Sum();
            return points.Select((p, i) => w[i] * (p.Y - a - (b * p.X)) * (p.Y - a - (b * p.X))).Sum();
        }
    }

    // Expected: with both errors stated neither variable is special: exchanging them inverts the line. Tolerance: rounding.
    [Fact]
    public void Exchanging_the_variables_inverts_the_line()
    {
        StraightLine forward = StraightLineFitter.Fit([.. X.Select((x, i) => new LinePoint(x, Y[i], 0.04 + (0.01 * i), 0.1))]);
        StraightLine backward = StraightLineFitter.Fit([.. X.Select((x, i) => new LinePoint(Y[i], x, 0.1, 0.04 + (0.01 * i)))]);
        Assert.Equal(1 / forward.Slope.Value, backward.Slope.Value, 1e-12);
        Assert.Equal(forward.ChiSquare, backward.ChiSquare, 1e-10);
        Assert.Equal(forward.Slope.StandardUncertainty / Math.Pow(forward.Slope.Value, 2), backward.Slope.StandardUncertainty, 1e-12);
    }

    // Expected: y exact, errors in x only: the regression of x on y, inverted.
    [Fact]
    public void Exact_ordinates_give_the_regression_of_x_on_y()
    {
        StraightLine line = StraightLineFitter.Fit([.. X.Select((x, i) => new LinePoint(x, Y[i], 0.1, 0))]);
        double mx = X.Average(), my = Y.Average();
        double slope = Y.Sum(y => (y - my) * (y - my)) / X.Zip(Y).Sum(p => (p.First - mx) * (p.Second - my));
        Assert.Equal(slope, line.Slope.Value, 1e-12);
    }

    // Expected: scaled uncertainties do not depend on the size of the stated ones, stated ones are proportional to it.
    [Fact]
    public void Uncertainties_follow_the_scaling_asked_for()
    {
        StraightLine Fit(double u, UncertaintyScaling scaling) => StraightLineFitter.Fit(
            [.. X.Select((x, i) => new LinePoint(x, Y[i], 0, u))], new StraightLineOptions { Scaling = scaling });
        double scaled = Fit(1, UncertaintyScaling.Scaled).Slope.StandardUncertainty;
        Assert.Equal(scaled, Fit(7, UncertaintyScaling.Scaled).Slope.StandardUncertainty, 1e-12);
        Assert.Equal(7 * Fit(1, UncertaintyScaling.Absolute).Slope.StandardUncertainty,
            Fit(7, UncertaintyScaling.Absolute).Slope.StandardUncertainty, 1e-12);
        // Auto: far too small uncertainties are not believed, and a finding says so; right ones (the points scatter by about 0.1) are.
        StraightLine tooSmall = Fit(0.001, UncertaintyScaling.Auto);
        Assert.True(tooSmall.IsScaled);
        Assert.Equal(scaled, tooSmall.Slope.StandardUncertainty, 1e-12);
        Assert.Contains(tooSmall.Findings, f => f.Code == "scatter-exceeds-uncertainty");
        StraightLine right = Fit(0.1, UncertaintyScaling.Auto);
        Assert.False(right.IsScaled);
        Assert.Empty(right.Findings);
    }

    [Fact]
    public void A_bend_is_noticed()
    {
        LinePoint[] parabola = [.. X.Select((x, i) => new LinePoint(x, 1 + x + (0.3 * x * x) + (0.01 * ((i % 2) - 0.5))))];
        StraightLine line = StraightLineFitter.Fit(parabola);
        Assert.True(line.BendProbability < 0.001);
        Assert.Contains(line.Findings, f => f.Code == "line-not-straight");
    }

    // Expected: 2000 simulated lines: the interval of the zero crossing holds the truth in 95 % of them, binomial standard error 0.5 %;
    // allowed: four of those. The slope is weak on purpose (relative uncertainty 20 %), where the first-order interval fails.
    [Fact]
    public void The_interval_of_the_zero_crossing_keeps_its_promise()
    {
        var random = new Random(5);
        const int trials = 2000;
        int inside = 0;
        for (int t = 0; t < trials; t++)
        {
            LinePoint[] points = [.. X.Select(x => new LinePoint(x, 1 - (0.5 * x) + (0.25 * Normal.Sample(random, 0, 1))))];
            if (StraightLineFitter.Fit(points).ZeroCrossingInterval().Contains(2))
                inside++;
        }

        Assert.InRange(inside / (double)trials, 0.93, 0.97);
    }

    [Fact]
    public void An_interval_of_a_crossing_that_may_be_anywhere_is_open()
    {
        StraightLine flat = StraightLineFitter.Fit([.. X.Select((x, i) => new LinePoint(x, 1 + (0.1 * ((i % 2) - 0.5))))]);
        Assert.Equal(new CoverageInterval(double.NegativeInfinity, double.PositiveInfinity), flat.ZeroCrossingInterval());
    }

    [Fact]
    public void Unusable_points_are_refused_with_their_number()
    {
        LinePoint[] good = [new(0, 1, 0, 0.1), new(1, 2, 0, 0.1), new(2, 3, 0, 0.1)];
        Refuse(good[..2], "needs at least 3");
        Refuse([.. good, new LinePoint(double.NaN, 1, 0, 0.1)], "point 4");
        Refuse([.. good, new LinePoint(3, 4)], "only 3 of 4");
        Refuse([.. good, new LinePoint(3, 4, 0, 0)], "both coordinates are exact");
        Refuse([.. good, new LinePoint(3, 4, -1, 0.1)], "negative");
        Refuse([.. good, new LinePoint(3, 4, 0.1, 0.1, 2)], "correlation");
        Refuse([new(0, 1, 0.1), new(1, 2, 0.1), new(2, 3, 0.1)], "ordinates");
        Refuse([new(1, 1), new(1, 2), new(1, 3)], "one place");

        static void Refuse(LinePoint[] points, string words)
        {
            Assert.Contains(words, Assert.Throws<UnusableInputException>(() => StraightLineFitter.Fit(points)).Message, StringComparison.Ordinal);
        }
    }
}
