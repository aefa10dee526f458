using MathNet.Numerics.Distributions;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Tables;

namespace StreakTrack.Core.Tests.Studies;

public class StiffnessStudiesTests
{
    private static readonly double[] Currents = [-1, -0.6, -0.2, 0, 0.3, 0.7, 1.0];

    private static StiffnessPoint[] Points(double intercept, double slope, double u = double.NaN) =>
        [.. Currents.Select(i => new StiffnessPoint(i, Math.Sqrt(intercept + (slope * i)), 0, u))];

    // Expected: f0² = 1600 + 240 I: f0 = 40 Hz without current, ratio 0.15 per ampere, zero at -6.667 A. With J = 2e-7 kg m²:
    // k = 4 pi² J f² = 0.0126331 N m/rad and 0.00189496 N m/(rad A). Tolerance: rounding.
    [Fact]
    public void Frequencies_become_stiffnesses()
    {
        StiffnessStudy study = StiffnessStudies.Run(
            Points(1600, 240), new StiffnessOptions { MomentOfInertiaKgM2 = new(2e-7, 1e-9) });
        Assert.Equal(40, study.FrequencyAtZeroCurrentHz.Value, 1e-10);
        Assert.Equal(0.15, study.StiffnessRatioPerA.Value, 1e-12);
        Assert.Equal(-1600.0 / 240, study.ZeroStiffnessCurrentA.Value, 1e-10);
        Assert.Equal(4 * Math.PI * Math.PI * 2e-7 * 1600, study.WireStiffnessNmPerRad!.Value.Value, 1e-13);
        Assert.Equal(4 * Math.PI * Math.PI * 2e-7 * 240, study.CoilStiffnessNmPerRadA!.Value.Value, 1e-13);
        Assert.Equal(0.005, study.WireStiffnessNmPerRad!.Value.StandardUncertainty / study.WireStiffnessNmPerRad!.Value.Value, 1e-9);
        Assert.Empty(study.Findings);
    }

    // The stated standard uncertainties against the scatter over 1000 simulated studies with errors in both variables. The standard
    // error of a
    // standard deviation from 1000 values is 2.2 %; allowed: four of those.
    [Fact]
    public void Stated_uncertainties_equal_the_scatter_over_repetitions()
    {
        var random = new Random(11);
        const double uA = 0.01, uHz = 0.05;
        StiffnessStudy[] studies =
        [
            .. Enumerable.Range(0, 1000).Select(_ => StiffnessStudies.Run(
                [
                    .. Currents.Select(i => new StiffnessPoint(i + (uA * Normal.Sample(random, 0, 1)),
                        Math.Sqrt(1600 + (240 * i)) + (uHz * Normal.Sample(random, 0, 1)), uA, uHz)),
                ],
                new StiffnessOptions { Scaling = UncertaintyScaling.Absolute })),
        ];
        Check(s => s.FrequencyAtZeroCurrentHz, 40);
        Check(s => s.StiffnessRatioPerA, 0.15);
        Check(s => s.Line.Slope, 240);

        void Check(Func<StiffnessStudy, UncertainValue> quantity, double truth)
        {
            double[] values = [.. studies.Select(s => quantity(s).Value)];
            double deviation = Math.Sqrt(values.Sum(v => (v - truth) * (v - truth)) / values.Length);
            Assert.Equal(1, deviation / studies.Average(s => quantity(s).StandardUncertainty), 0.09);
        }
    }

    [Fact]
    public void No_effect_and_an_impossible_line_are_remarked()
    {
        StiffnessPoint[] flat = [.. Currents.Select((i, k) => new StiffnessPoint(i, 40 + (0.01 * ((k % 2) - 0.5))))];
        StiffnessStudy study = StiffnessStudies.Run(flat);
        Assert.Contains(study.Findings, f => f.Code == "no-effect-seen");
        Assert.True(double.IsNegativeInfinity(study.ZeroStiffnessInterval95.Low));

        StiffnessStudy wrongSign = StiffnessStudies.Run([.. new[] { 10.0, 11, 12, 13 }.Select(i => new StiffnessPoint(i, Math.Sqrt((100 * i) - 500)))]);
        Assert.Contains(wrongSign.Findings, f => f.Code == "negative-intercept");
        Assert.True(double.IsNaN(wrongSign.FrequencyAtZeroCurrentHz.Value));
    }

    [Fact]
    public void A_table_is_read_with_its_uncertainties()
    {
        IReadOnlyList<StiffnessPoint> points = StiffnessStudies.PointsFrom(
            CsvTable.Parse("current_a,frequency_hz,frequency_u_hz,current_u_a\n-0.5,38,0.1,0.01\n0,40,0.2,\n", "k.csv"));
        Assert.Equal([new StiffnessPoint(-0.5, 38, 0.01, 0.1), new StiffnessPoint(0, 40, 0, 0.2)], points);
    }

    [Theory]
    [InlineData("current_a,f\n1,2\n", "k.csv line 1: there is no column frequency_hz")]
    [InlineData("current_a,frequency_hz\n1,40\n2,-40\n", "k.csv line 3: the frequency is not positive")]
    [InlineData("current_a,frequency_hz\n1,40\n,41\n", "k.csv line 3: there is no value for current_a")]
    public void A_bad_table_is_refused_with_its_line(string text, string words)
    {
        Assert.StartsWith(words,
            Assert.Throws<UnusableInputException>(() => StiffnessStudies.PointsFrom(CsvTable.Parse(text, "k.csv"))).Message,
            StringComparison.Ordinal);
    }

    [Fact]
    public void Frequencies_must_be_positive() =>
        Assert.Throws<UnusableInputException>(() => StiffnessStudies.Run([new(0, 40), new(1, double.NaN), new(2, 41)]));
}
