using StreakTrack.Core.Studies;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Validation.LinearRegression;

/// <summary>Published straight lines through points with uncertainties in both variables, and the calibration line of the GUM.</summary>
public class BothVariablesTests
{
    private static readonly double[] X = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
    private static readonly double[] Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
    private static readonly double[] WeightX = [1e3, 1e3, 5e2, 8e2, 2e2, 8e1, 6e1, 2e1, 1.8, 1];
    private static readonly double[] WeightY = [1, 1.8, 4, 8, 20, 20, 70, 70, 1e2, 5e2];

    // Pearson's data (Phil. Mag. 2 (1901) 559) with York's weights (Can. J. Phys. 44 (1966) 1079). Intercept 5.47991022403, slope
    // -0.48053340745: Williamson's values (Can. J. Phys. 46 (1968) 1845) as tabulated in the documentation of the kapteyn package (seen).
    // Standard errors 0.294970735 and 0.0579850090 and reduced chi-square 1.483294149 by the equations of York and others (2004):
    // tests of
    // the R package bfsl (seen). Tolerance: the printed digits.
    [Fact]
    public void Pearsons_data_with_Yorks_weights()
    {
        LinePoint[] points = [.. X.Select((x, i) => new LinePoint(x, Y[i], 1 / Math.Sqrt(WeightX[i]), 1 / Math.Sqrt(WeightY[i])))];
        StraightLine line = StraightLineFitter.Fit(points);
        Assert.False(line.IsScaled);
        Assert.Equal(5.47991022403, line.Intercept.Value, 5e-10);
        Assert.Equal(-0.48053340745, line.Slope.Value, 5e-11);
        Assert.Equal(0.294970735, line.Intercept.StandardUncertainty, 5e-9);
        Assert.Equal(0.0579850090, line.Slope.StandardUncertainty, 5e-10);
        Assert.Equal(1.483294149, line.ChiSquare / line.DegreesOfFreedom, 5e-9);
        Assert.Equal(8, line.DegreesOfFreedom);
        // chi-square 11.866 on 8 degrees of freedom, p = 0.15727: documentation of the R package yorkregression (seen).
        Assert.Equal(0.15727, line.ChiSquareProbability, 5e-6);
    }

    // The same points unweighted: ordinary least squares 5.76118519259, -0.53957727555; weights in y only 6.10010929336,
    // -0.61081295310; and
    // equal weights in both, Pearson's own line, 5.7840437745, -0.5455611975. All from the same documentation (seen; iterative fits
    // printed with about 8 good digits, the last analytic).
    [Fact]
    public void Pearsons_data_with_other_weights()
    {
        StraightLine plain = StraightLineFitter.Fit([.. X.Select((x, i) => new LinePoint(x, Y[i]))]);
        Assert.Equal(5.76118519, plain.Intercept.Value, 5e-9);
        Assert.Equal(-0.539577275, plain.Slope.Value, 5e-9);

        StraightLine inY = StraightLineFitter.Fit([.. X.Select((x, i) => new LinePoint(x, Y[i], 0, 1 / Math.Sqrt(WeightY[i])))]);
        Assert.Equal(6.10010929, inY.Intercept.Value, 5e-8);
        Assert.Equal(-0.61081295, inY.Slope.Value, 5e-8);

        StraightLine orthogonal = StraightLineFitter.Fit([.. X.Select((x, i) => new LinePoint(x, Y[i], 1, 1))]);
        Assert.Equal(5.7840437745, orthogonal.Intercept.Value, 5e-10);
        Assert.Equal(-0.5455611975, orthogonal.Slope.Value, 5e-11);
    }

    // JCGM 100:2008, H.3 (thermometer calibration): y1 = -0.1712(29), y2 = 0.00218(67), r = -0.930, prediction at 30 °C -0.1494(41):
    // documentation of the GTC library, page GUM H3 (seen); the unrounded residual sum 0.000110096583109 is printed there too.
    [Fact]
    public void Calibration_line_of_the_GUM()
    {
        double[] t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
        double[] b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
        StraightLine line = StraightLineFitter.Fit([.. t.Select((x, i) => new LinePoint(x - 20, b[i]))]);
        Assert.Equal("-0.1712(29)", Notation.Concise(line.Intercept));
        Assert.Equal("0.00218(67)", Notation.Concise(line.Slope));
        Assert.Equal(-0.930, line.Correlation, 5e-4);
        Assert.Equal(0.000110096583109, line.ChiSquare, 5e-16);
        Assert.Equal("-0.1494(41)", Notation.Concise(line.At(10)));
        Assert.Equal(0.0035, line.ResidualDeviation, 5e-5);
    }
}
