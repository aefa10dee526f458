using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Tests.Streaks;

public class StreakProfileTests
{
    // Source: fixtures/reference/tables/streak_function.csv, 17 digits. The model looks the Gaussian up in a table of 256 steps a
    // sigma, linearly
    // interpolated: wrong by up to 1/8 (1/256)^2 of the peak of its second derivative, 0.4; and leaves out what is more than 5 sigma
    // away.
    [Fact]
    public void Whole_periods_give_the_tabulated_density()
    {
        foreach (double[] row in StreakTables.Rows("reference", "tables", "streak_function.csv"))
        {
            (double a, double sigma, double x, double expected) = (row[0], row[1], row[2], row[3]);
            var shape = new StreakShape(a, 2000 - x, 1, 0, 0.7, sigma, 1);
            double peak = 1 / (Math.Sqrt(2 * Math.PI) * Math.Max(sigma, Math.Sqrt(a * sigma)));
            Assert.Equal(expected, new StreakProfile().At(shape, 2000), 5e-6 * peak);
        }
    }

    // Source: fixtures/streaks/streak_edges.csv, column half_minus_a: what a threshold at half of the maximum adds to an end.
    [Fact]
    public void The_threshold_offset_is_the_tabulated_one()
    {
        const double sigma = 40;
        foreach (double[] row in StreakTables.Rows("streaks", "streak_edges.csv").Where(r => r[0] is >= 2 and <= 30))
        {
            double a = row[0] * sigma;
            var shape = new StreakShape(a, 0, 1000, 0, 0, sigma, 1);
            var model = new StreakProfile();
            int count = (int)(a + (6 * sigma));
            model.Evaluate(shape, StreakTables.Even(count), 0, count);
            float max = model.Values[..count].Max();
            int outside = Array.FindLastIndex(model.Values, count - 1, v => v >= max / 2);
            double crossing = outside + ((model.Values[outside] - (max / 2)) / (model.Values[outside] - model.Values[outside + 1]));

            // A straight line between samples 1/40 sigma apart, and a maximum that falls between samples.
            Assert.Equal(row[3], (crossing - a) / sigma, 1e-3);
        }
    }

    [Theory]
    [InlineData(0.13)]
    [InlineData(0.6)]
    [InlineData(1.12)]
    [InlineData(2.5)]
    public void Light_is_in_proportion_to_the_exposure(double periods)
    {
        var shape = new StreakShape(90, 200, 300, 0, 1.1, 6, periods);
        var model = new StreakProfile();
        model.Evaluate(shape, StreakTables.Even(400), 0, 400);

        // Samples 1/6 sigma apart sum up exactly but for the cut at 5 sigma, 6e-7, and single precision.
        Assert.Equal(300 * periods, model.Values[..400].Sum(), 300 * periods * 1e-5);
    }

    [Fact]
    public void Two_exposures_that_follow_each_other_add_up_to_one()
    {
        var first = new StreakShape(90, 200, 300, 0, 0.4, 6, 0.35);
        StreakShape second = first with { StartRad = first.StartRad + (2 * Math.PI * first.Periods), Periods = 0.65 };
        StreakShape both = first with { Periods = 1 };
        for (int s = 80; s < 320; s += 7)
        {
            double sum = new StreakProfile().At(first, s) + new StreakProfile().At(second, s);
            Assert.Equal(new StreakProfile().At(both, s), sum, 1e-4);
        }
    }

    // Central differences of the model itself; where the arc's ends lie, the cells of the sum leave steps of a few per cent of the slope.
    [Theory]
    [InlineData(StreakProfile.HalfLength, 0.05, 0.03)]
    [InlineData(StreakProfile.Centre, 0.05, 0.02)]
    [InlineData(StreakProfile.Light, 1, 0.001)]
    [InlineData(StreakProfile.Background, 1, 0.001)]
    [InlineData(StreakProfile.Start, 0.05, 0.05)]
    [InlineData(StreakProfile.Sigma, 0.05, 0.03)]
    [InlineData(StreakProfile.Periods, 0.005, 0.05)]
    public void Derivatives_agree_with_differences(int parameter, double step, double tolerance)
    {
        var shape = new StreakShape(60, 120, 500, 2, 1.0, 6, 0.7);
        float[] even = StreakTables.Even(240);
        var model = new StreakProfile();
        model.Evaluate(shape, even, 0, 240);
        float[] derivative = [.. model.Derivatives[parameter][..240]];
        var low = new StreakProfile();
        var high = new StreakProfile();
        low.Evaluate(Moved(shape, parameter, -step), even, 0, 240);
        high.Evaluate(Moved(shape, parameter, step), even, 0, 240);
        float scale = derivative.Max(Math.Abs);
        for (int i = 0; i < 240; i++)
            Assert.Equal((high.Values[i] - low.Values[i]) / (2 * step), derivative[i], tolerance * scale);
    }

    // The definition, by brute force: each place has an exposure of its own, which begins later the farther along it lies. A spot that the shutter
    // overtakes, and one that overtakes it: 90 px at 0.005 and 0.02 rad/px are 0.45 and 1.8 rad. The integration leaves a tenth of a per cent where
    // an exposure begins or ends between two nodes.
    [Theory]
    [InlineData(0.005, 0.3)]
    [InlineData(0.02, 0.3)]
    [InlineData(0.02, 0.8)]
    [InlineData(0.02, 1.3)]
    [InlineData(-0.01, 2.6)]
    public void A_rolling_shutter_gives_each_place_its_own_exposure(double rowPhase, double periods)
    {
        var shape = new StreakShape(90, 200, 300, 0, 1.1, 6, periods) { RowPhaseRadPerPx = rowPhase };
        var model = new StreakProfile();
        model.Evaluate(shape, StreakTables.Even(400), 0, 400);
        float peak = model.Values[..400].Max();
        for (int s = 80; s < 320; s += 3)
        {
            const int steps = 20_000;
            double from = shape.StartRad + (rowPhase * (s - 200)), sum = 0;
            for (int n = 0; n < steps; n++)
            {
                double z = (s - 200 - (90 * Math.Cos(from + (2 * Math.PI * periods * (n + 0.5) / steps)))) / 6;
                sum += Math.Exp(-0.5 * z * z);
            }

            double expected = 300 * periods / steps * sum / (6 * Math.Sqrt(2 * Math.PI));
            Assert.Equal(expected, model.Values[s], 1e-3 * peak);
        }
    }

    [Theory]
    [InlineData(StreakProfile.HalfLength, 0.05)]
    [InlineData(StreakProfile.Centre, 0.05)]
    [InlineData(StreakProfile.Start, 0.01)]
    [InlineData(StreakProfile.Sigma, 0.05)]
    [InlineData(StreakProfile.Periods, 0.002)]
    [InlineData(StreakProfile.RowPhase, 1e-4)]
    public void Derivatives_with_a_rolling_shutter_agree_with_differences(int parameter, double step)
    {
        var shape = new StreakShape(60, 120, 500, 2, 1.0, 6, 0.7) { RowPhaseRadPerPx = 0.015 };
        float[] even = StreakTables.Even(240);
        StreakProfile model = new(), low = new(), high = new();
        model.Evaluate(shape, even, 0, 240);
        low.Evaluate(Moved(shape, parameter, -step), even, 0, 240);
        high.Evaluate(Moved(shape, parameter, step), even, 0, 240);
        float[] derivative = model.Derivatives[parameter];
        float scale = derivative[..240].Max(Math.Abs);
        for (int i = 0; i < 240; i++)
            Assert.Equal((high.Values[i] - low.Values[i]) / (2 * step), derivative[i], 0.05 * scale);
    }

    // The middle of the light, by the model, over phases that advance evenly: the phase follows from its fundamental.
    [Theory]
    [InlineData(0.3, 0.012)]
    [InlineData(0.55, 0.012)]
    [InlineData(0.8, 0.006)]
    public void The_phase_follows_from_the_middles_of_a_rolled_streak(double periods, double rowPhase)
    {
        const int phases = 64;
        double mid = 0, cos = 0, sin = 0;
        var model = new StreakProfile();
        for (int k = 0; k < phases; k++)
        {
            double ahead = 2 * Math.PI * k / phases;
            var shape = new StreakShape(90, 200, 300, 0, 0.7 + ahead - (Math.PI * periods), 3, periods) { RowPhaseRadPerPx = rowPhase };
            model.Evaluate(shape, StreakTables.Even(400), 0, 400);
            mid = Enumerable.Range(0, 400).Sum(i => (i - 200) * (double)model.Values[i]) / model.Values[..400].Sum(v => (double)v);
            cos += mid * Math.Cos(ahead);
            sin += mid * Math.Sin(ahead);
        }

        // Middles that go as cos(phase of the middles + ahead).
        double middlePhase = Math.Atan2(-sin, cos);
        Assert.Equal(0.7, new RollingMiddle(rowPhase, periods, forwards: true).MidPhaseRad(middlePhase, 90), 0.03);
        double mirrored = new RollingMiddle(rowPhase, periods, forwards: false).MidPhaseRad(-middlePhase, 90);
        Assert.Equal(0.7, mirrored, 0.03);
    }

    // Source: Cramer-Rao bounds in fixtures/streaks/crlb_spot_edge.csv, for white noise of 1 in each pixel and a spot of height 1. A swing of a
    // hundredth of sigma widens the spot by 3e-5; the table of the Gauss function is good to 1e-5.
    [Fact]
    public void A_resting_spot_tells_its_place_as_well_as_the_bound_says()
    {
        double[][] bounds = StreakTables.Rows("streaks", "crlb_spot_edge.csv");
        Assert.Equal(5, bounds.Length);
        foreach (double[] row in bounds)
        {
            double sigma = row[0], light = Math.Sqrt(2 * Math.PI) * sigma;
            var model = new StreakProfile();
            model.Evaluate(new StreakShape(0.01 * sigma, 60, light, 0, 0, sigma, 1), StreakTables.Even(121), 0, 121);
            double information = model.Derivatives[StreakProfile.Centre][..121].Sum(d => (double)d * d);
            Assert.Equal(row[1], 1 / Math.Sqrt(information), 2e-4 * row[1]);
        }
    }

    private static StreakShape Moved(StreakShape p, int parameter, double step) => parameter switch
    {
        StreakProfile.HalfLength => p with { HalfLengthPx = p.HalfLengthPx + step },
        StreakProfile.Centre => p with { CentrePx = p.CentrePx + step },
        StreakProfile.Light => p with { Light = p.Light + step },
        StreakProfile.Background => p with { Background = p.Background + step },
        StreakProfile.Start => p with { StartRad = p.StartRad + step },
        StreakProfile.Sigma => p with { SigmaPx = p.SigmaPx + step },
        StreakProfile.Periods => p with { Periods = p.Periods + step },
        _ => p with { RowPhaseRadPerPx = p.RowPhaseRadPerPx + step },
    };
}
