using System.Globalization;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Tables;
using StreakTrack.Core.Uncertainty;
using StreakTrack.Tests.Shared;
using StreakTrack.Validation.EnvelopeFits;
using StreakTrack.Validation.Univariate;

namespace StreakTrack.Validation;

/// <summary>A published number, or one computed with other means, and how the program finds it: one row of docs/validation.md.</summary>
/// <param name="Source">Where it is from.</param>
/// <param name="Quantity">What it is.</param>
/// <param name="Published">The number as printed there.</param>
/// <param name="Tolerance">Largest difference: half a unit of the last printed digit, or what the source's own method leaves open.</param>
/// <param name="Compute">What the program finds.</param>
internal sealed record PublishedValue(string Source, string Quantity, string Published, double Tolerance, Func<double> Compute)
{
    private const string York = "Pearson's points with York's weights, Williamson 1968 and York and others 2004";
    private const string Gauge = "JCGM 100:2008, H.1, end gauge";
    private const string Thermometer = "JCGM 100:2008, H.3, thermometer";
    private const string Wheel = "wheel on a torsion rod, measured with a rate gyro";
    private const string Beta = "beta absorption of aluminium, Poisson weights";

    public static IReadOnlyList<PublishedValue> All { get; } =
    [
        new(York, "intercept", "5.47991022403", 5e-10, () => YorksLine().Intercept.Value),
        new(York, "its standard error", "0.294970735", 5e-9, () => YorksLine().Intercept.StandardUncertainty),
        new(York, "slope", "-0.48053340745", 5e-11, () => YorksLine().Slope.Value),
        new(York, "its standard error", "0.0579850090", 5e-10, () => YorksLine().Slope.StandardUncertainty),
        new(York, "probability of chi-square", "0.15727", 5e-6, () => YorksLine().ChiSquareProbability),
        new(Gauge, "effective degrees of freedom", "16.7646", 5e-5, () => EndGauge().EffectiveDegreesOfFreedom),
        new(Thermometer, "intercept at 20 °C", "-0.1712", 5e-5, () => Calibration().Intercept.Value),
        new(Thermometer, "slope", "0.00218", 5e-6, () => Calibration().Slope.Value),
        new(Thermometer, "correlation", "-0.930", 5e-4, () => Calibration().Correlation),
        new(Thermometer, "uncertainty of the correction at 30 °C", "0.0041", 5e-5, () => Calibration().At(10).StandardUncertainty),
        new("NIST/SEMATECH e-Handbook 1.3.5.13, Lew (from memory)", "runs about the median, z", "2.6938", 5e-5, RunsOfLew),
        new(Wheel, "decay time by scipy, s", "4.400378", 5e-7, () => RingDown.Read().Fit().Parameters[1]),
        new(Wheel, "naive standard error by scipy, s", "0.0059268", 6e-7, NaiveOfWheel),

        // A block bootstrap scatters by 15 % about what it estimates, as the fit's own estimate does; both together by 20 %, here 1.5 times.
        new(Wheel, "standard error by a block bootstrap, s", "0.0211", 0.3 * 0.0211, HonestOfWheel),
        new(Beta, "absorption length by scipy, mg/cm²", "261.1743", 3e-4, () => BetaLength().Value),
        new(Beta, "its standard error by scipy, mg/cm²", "5.97263", 6e-4, () => BetaLength().StandardUncertainty),
        new("resonance curve with seeded noise, exact response", "Q by scipy", "173.339011", 5e-7, () => Resonance().QualityFactor.Value),
        new("the same", "decay time from it by scipy, s", "2.350972", 5e-7, () => Resonance().TauSeconds.Value),
    ];

    /// <summary>What the program finds, with as many decimals as were published.</summary>
    public string Found() => Compute().ToString($"F{Published.Length - Published.IndexOf('.', StringComparison.Ordinal) - 1}", CultureInfo.InvariantCulture);

    private static StraightLine YorksLine()
    {
        double[] x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4], y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
        double[] wx = [1e3, 1e3, 5e2, 8e2, 2e2, 8e1, 6e1, 2e1, 1.8, 1], wy = [1, 1.8, 4, 8, 20, 20, 70, 70, 1e2, 5e2];
        return StraightLineFitter.Fit([.. x.Select((at, i) => new LinePoint(at, y[i], 1 / Math.Sqrt(wx[i]), 1 / Math.Sqrt(wy[i])))]);
    }

    private static UncertaintyBudget EndGauge()
    {
        (double U, double Degrees)[] inputs = [(25, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)];
        return UncertaintyBudget.From(new MeasurementModel("sum", "nm",
            [.. inputs.Select((input, i) => new UncertaintyInput($"{i}", "nm", 0, input.U) { DegreesOfFreedom = input.Degrees })],
            v => v[0] + v[1] + v[2] + v[3]));
    }

    private static StraightLine Calibration()
    {
        double[] t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
        double[] b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
        return StraightLineFitter.Fit([.. t.Select((at, i) => new LinePoint(at - 20, b[i]))]);
    }

    private static double RunsOfLew()
    {
        double[] values = StrdUnivariateSet.Read("Lew").Values, sorted = [.. values.Order()];
        double median = (sorted[(sorted.Length / 2) - 1] + sorted[sorted.Length / 2]) / 2;
        return ResidualAnalysis.Of([.. values.Select(value => value - median)]).RunsZ;
    }

    private static double NaiveOfWheel()
    {
        RingDown ring = RingDown.Read();
        return ring.StandardUncertainties(ring.Fit())[1];
    }

    private static double HonestOfWheel()
    {
        RingDown ring = RingDown.Read();
        RingDown white = ring.Whitened(ring.ResidualsOf(ring.Fit()).Lag1Correlation);
        return white.StandardUncertainties(white.Fit())[1];
    }

    private static FitParameter BetaLength()
    {
        // The thickness, 49 mg/cm² a plate, stands where a series has its time; plates 2 to 8 follow an exponential.
        CsvTable table = CsvTable.Read(Fixtures.PathOf("fits", "beta-absorption.csv"));
        double[][] rows = [.. Enumerable.Range(0, table.RowCount).Select(i => new[] { table.Number(i, 0), table.Number(i, 1), table.Number(i, 2) })];
        EnvelopeData data = EnvelopeData.FromNumbers(
            [.. rows.Select(r => r[0] * 49)], [.. rows.Select(r => r[2] / r[1])], [.. rows.Select(r => Math.Sqrt(r[2]) / r[1])]);
        return EnvelopeFitter.Fit(data, new EnvelopeFitOptions
        {
            Model = "decay", CompareModels = false, SwitchTimeSeconds = 0, WindowStartSeconds = 98, WindowEndSeconds = 392,
            Weighting = PointWeighting.Given, Scaling = UncertaintyScaling.Absolute, Correlation = CorrelationTreatment.Independent,
            Loss = FitLoss.LeastSquares,
        }).Parameter(EnvelopeParameters.Tau)!;
    }

    private static ResonanceFit Resonance()
    {
        CsvTable table = CsvTable.Read(Fixtures.PathOf("resonance", "resonance.csv"));
        int f = table.IndexOf("f"), y = table.IndexOf("y");
        return ResonanceStudies.Run([.. Enumerable.Range(0, table.RowCount).Select(i => new ResonancePoint(table.Number(i, f), table.Number(i, y)))]).Fit;
    }
}
