using StreakTrack.Core.Oscillator;

namespace StreakTrack.Core.Tests.Oscillator;

public class OpticalLeverTests
{
    private static UncertainValue Exact(double value) => new(value, 0);

    // Expected: x = L tan 2 theta solved by hand: tan 2 theta = 50/1000, theta = atan(0.05)/2 = 24.97919786 mrad (10 digits from a calculator).
    [Fact]
    public void A_square_ruler_follows_L_tan_2_theta()
    {
        var lever = new OpticalLever(Exact(1000));
        Assert.Equal(24.97919786, lever.AmplitudeMradFromMm(50), 8);
        Assert.Equal(24.97919786, lever.MirrorAngleMrad(50), 8);
    }

    // Expected: common practice, no source: for small angles the mirror turns by x/(2 L). The cubic term of atan, (x/L)²/3, is 3e-5 here.
    [Fact]
    public void Small_amplitudes_are_half_the_ratio_of_length_and_distance()
    {
        var lever = new OpticalLever(Exact(2000));
        Assert.Equal(5.0, lever.AmplitudeMradFromMm(20), 5.0 * 4e-5);
    }

    // Expected: traced here as a ray. The beam leaves the origin in the direction p = 2 theta; the ruler passes through (D, 0) along
    // (sin a, cos a). Two linear equations give the crossing, independent of the product's closed form. Tolerance: rounding.
    [Theory]
    [InlineData(0.0, 0.0, 30)]
    [InlineData(0.0, 0.35, 30)]
    [InlineData(0.0, -0.35, 120)]
    [InlineData(0.2, 0.1, 80)]
    [InlineData(-0.5, 0.6, 5)]
    public void Every_geometry_agrees_with_a_traced_ray(double incidence, double tilt, double mirrorMrad)
    {
        const double distance = 1234.5;
        double plane = distance * Math.Cos(incidence);
        double Crossing(double mrad)
        {
            double p = 2e-3 * mrad;
            // r cos p = D + s sin a and r sin p = s cos a, by Cramer's rule.
            double determinant = (Math.Cos(p) * Math.Cos(tilt)) - (Math.Sin(p) * Math.Sin(tilt));
            return Math.Sin(p) * plane / determinant;
        }

        var lever = new OpticalLever(Exact(distance), Exact(incidence), Exact(tilt));
        double right = Crossing(mirrorMrad);
        double left = Crossing(-mirrorMrad);
        Assert.Equal(right, lever.OffsetMm(mirrorMrad), 1e-10 * Math.Abs(right));
        Assert.Equal(mirrorMrad, lever.MirrorAngleMrad(right), 1e-10 * mirrorMrad);
        Assert.Equal(mirrorMrad, lever.AmplitudeMradFromMm((right - left) / 2), 1e-10 * mirrorMrad);
        Assert.Equal((right - left) / 2, lever.AmplitudeMmFromMrad(mirrorMrad), 1e-10 * right);
        Assert.Equal(mirrorMrad, lever.AmplitudeMradFromEnds(left, right), 1e-10 * mirrorMrad);
    }

    // Expected: vector reflection r = d - 2 (d·n) n of a beam that is tipped along the axis by i, mirror normal perpendicular to the axis;
    // the ruler lies at the distance L along the resting beam. Tolerance: rounding.
    [Fact]
    public void Incidence_along_the_axis_agrees_with_the_law_of_reflection()
    {
        const double incidence = 0.4;
        const double distance = 800;
        const double mirrorMrad = 60;
        double[] incoming = [-Math.Cos(incidence), 0, Math.Sin(incidence)];
        double[] normal = [Math.Cos(mirrorMrad * 1e-3), Math.Sin(mirrorMrad * 1e-3), 0];
        double along = (incoming[0] * normal[0]) + (incoming[1] * normal[1]);
        double x = incoming[0] - (2 * along * normal[0]);
        double y = incoming[1] - (2 * along * normal[1]);
        double expected = distance * Math.Cos(incidence) * y / x;

        var lever = new OpticalLever(Exact(distance), Exact(incidence));
        Assert.Equal(expected, lever.OffsetMm(mirrorMrad), 1e-9);
    }

    // Expected: central differences of the conversion itself; tolerance 1e-6 relative is their truncation at steps of 1e-4 relative.
    [Theory]
    [InlineData(0.0, 0.0, 60)]
    [InlineData(0.3, 0.25, 60)]
    [InlineData(-0.2, -0.5, 300)]
    public void Sensitivities_are_the_derivatives(double incidence, double tilt, double amplitudeMm)
    {
        const double distance = 900;
        LeverSensitivities by = new OpticalLever(Exact(distance), Exact(incidence), Exact(tilt)).Sensitivities(amplitudeMm);
        double At(double a, double d, double i, double t) => new OpticalLever(Exact(d), Exact(i), Exact(t)).AmplitudeMradFromMm(a);
        double Slope(Func<double, double> f, double step) => (f(step) - f(-step)) / (2 * step);

        AssertClose(Slope(h => At(amplitudeMm + h, distance, incidence, tilt), 1e-2), by.MradPerMm);
        AssertClose(Slope(h => At(amplitudeMm, distance + h, incidence, tilt), 1e-1), by.MradPerDistanceMm);
        AssertClose(Slope(h => At(amplitudeMm, distance, incidence + h, tilt), 1e-4), by.MradPerIncidenceRad);
        AssertClose(Slope(h => At(amplitudeMm, distance, incidence, tilt + h), 1e-4), by.MradPerTiltRad);

        static void AssertClose(double expected, double actual) => Assert.Equal(expected, actual, (1e-6 * Math.Abs(expected)) + 1e-7);
    }

    // Expected: for a square ruler and small angles u(theta)/theta is the root of the sum of squares of u(A)/A and u(L)/L:
    // sqrt(0.01² + 0.02²) = 2.236 %. Tolerance 1e-3 relative: the angle's square, (40/2000)² = 4e-4.
    [Fact]
    public void Uncertainties_of_length_and_distance_combine_in_squares()
    {
        var lever = new OpticalLever(new UncertainValue(2000, 40));
        UncertainValue theta = lever.AmplitudeMrad(new UncertainValue(40, 0.4));
        Assert.Equal(Math.Sqrt(5) / 100, theta.StandardUncertainty / theta.Value, 2.3e-5);
    }

    [Fact]
    public void Missing_amplitudes_stay_missing()
    {
        Assert.True(double.IsNaN(new OpticalLever(Exact(1000)).AmplitudeMradFromMm(double.NaN)));
    }

    [Fact]
    public void A_beam_that_cannot_meet_the_ruler_has_no_place_on_it()
    {
        // 2 theta = 1.6 rad is beyond the right angle: the beam runs away from a square ruler.
        Assert.True(double.IsNaN(new OpticalLever(Exact(1000)).OffsetMm(800)));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(-1)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void A_distance_that_is_not_positive_is_refused(double distanceMm)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new OpticalLever(Exact(distanceMm)));
    }

    [Fact]
    public void An_angle_given_in_degrees_is_refused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new OpticalLever(Exact(1000), Exact(45)));
        Assert.Throws<ArgumentOutOfRangeException>(() => new OpticalLever(Exact(1000), default, Exact(double.NaN)));
    }
}
