using System.Globalization;
using StreakTrack.Core.Oscillator;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Core.Tests.Oscillator;

public class OscillatorQuantitiesTests
{
    public static TheoryData<double[]> Relations()
    {
        var rows = new TheoryData<double[]>();
        string[] lines = File.ReadAllLines(Fixtures.PathOf("oscillator", "oscillator_relations.csv"));
        foreach (string line in lines.Where(l => !l.StartsWith('#')).Skip(1))
            rows.Add([.. line.Split(',').Select(cell => cell.Length == 0 ? double.NaN : double.Parse(cell, CultureInfo.InvariantCulture))]);
        return rows;
    }

    // Expected: fixtures/oscillator/oscillator_relations.csv, 40-digit roots of the response curve. Its columns: Q, damping ratio, log
    // decrement, fd/f0, amplitude peak/f0, power width/f0, amplitude width at 1/sqrt 2, amplitude width at half, sqrt3/Q, …, tau f0.
    // Tolerance 2e-14 relative: the table is rounded to 15 digits.
    [Theory]
    [MemberData(nameof(Relations))]
    public void Relations_agree_with_the_exact_table_whichever_frequency_is_given(double[] row)
    {
        const double f0 = 40;
        double tau = row[10] / f0;
        (FrequencyMeaning Meaning, double Hz)[] given =
        [
            (FrequencyMeaning.Undamped, f0), (FrequencyMeaning.Damped, f0 * row[3]), (FrequencyMeaning.AmplitudePeak, f0 * row[4]),
        ];
        foreach ((FrequencyMeaning meaning, double hz) in given)
        {
            OscillatorQuantities found = OscillatorQuantities.From(new(tau, 0), new(hz, 0), meaning);
            AssertRelative(row[0], found.QualityFactor!.Value.Value);
            AssertRelative(row[1], found.DampingRatio!.Value.Value);
            AssertRelative(row[2], found.LogarithmicDecrement!.Value.Value);
            AssertRelative(f0, found.UndampedFrequencyHz!.Value.Value);
            AssertRelative(row[5] * f0, found.LinewidthPowerHz.Value);
            AssertRelative(row[7] * f0, found.LinewidthAmplitudeHz!.Value.Value);
            AssertRelative(row[8] * f0, found.LinewidthAmplitudeHighQHz.Value);
        }

        static void AssertRelative(double expected, double actual) => Assert.Equal(expected, actual, 2e-14 * expected);
    }

    [Fact]
    public void The_table_has_all_its_rows() => Assert.Equal(7, Relations().Count);

    // Expected: Q = (pi/ln 2) f0 T_half = 4.53 f0 T_half, laboratory note on Q and decay time (printed with three digits).
    [Fact]
    public void Q_follows_from_the_half_life_as_published()
    {
        double halfLife = 2.0 * Math.Log(2);
        OscillatorQuantities found = OscillatorQuantities.From(new(2.0, 0), new(40, 0));
        Assert.Equal(4.53 * 40 * halfLife, found.QualityFactor!.Value.Value, 0.005 * 40 * halfLife);
    }

    // Common practice, no source: an oscillator near 40 Hz with a decay time a little over 2 s settles in five to ten seconds.
    [Fact]
    public void An_oscillator_with_two_seconds_settles_within_ten()
    {
        Assert.InRange(OscillatorQuantities.From(new(2.1, 0)).SettlingTimeSeconds.Value, 5, 10);
    }

    // Expected: central differences of the relations themselves, with relative steps of 1e-5, combined in squares.
    // Tolerance 1e-6 relative: their truncation and rounding.
    [Theory]
    [InlineData(FrequencyMeaning.Undamped, 2.35, 23.47)]
    [InlineData(FrequencyMeaning.Damped, 0.07, 15)]
    [InlineData(FrequencyMeaning.AmplitudePeak, 0.07, 12)]
    public void Uncertainties_are_those_of_first_order_propagation(FrequencyMeaning meaning, double tau, double hz)
    {
        double uTau = 0.02 * tau;
        double uHz = 0.01 * hz;
        IReadOnlyList<NamedQuantity> found = OscillatorQuantities.From(new(tau, uTau), new(hz, uHz), meaning).All;
        Assert.Equal(9, found.Count);
        for (int i = 0; i < found.Count; i++)
        {
            double At(double t, double f) => OscillatorQuantities.From(new(t, 0), new(f, 0), meaning).All[i].Value.Value;
            double byTau = (At(tau * 1.00001, hz) - At(tau * 0.99999, hz)) / (2e-5 * tau) * uTau;
            double byHz = (At(tau, hz * 1.00001) - At(tau, hz * 0.99999)) / (2e-5 * hz) * uHz;
            double expected = Math.Sqrt((byTau * byTau) + (byHz * byHz));
            Assert.Equal(expected, found[i].Value.StandardUncertainty, (1e-6 * expected) + (1e-9 * Math.Abs(found[i].Value.Value)));
        }
    }

    [Fact]
    public void Without_a_frequency_only_what_needs_none_is_given()
    {
        OscillatorQuantities found = OscillatorQuantities.From(new(2.4, 0.012));
        string[] expected = ["linewidth_power_hz", "linewidth_amplitude_high_q_hz", "energy_decay_time_s", "settling_time_s"];
        Assert.Equal(expected, found.All.Select(q => q.Key));
        Assert.Null(found.QualityFactor);
        Assert.All(found.All, q => Assert.Equal(0.005, q.Value.StandardUncertainty / q.Value.Value, 12));
    }

    [Fact]
    public void A_width_that_does_not_exist_is_left_out()
    {
        // Q = pi/2: the amplitude curve does not fall to half its maximum on the low side (it does from Q = 1.932 on: u- = 0 there).
        OscillatorQuantities found = OscillatorQuantities.From(new(1, 0), new(0.5, 0));
        Assert.True(double.IsNaN(found.LinewidthAmplitudeHz!.Value.Value));
        Assert.DoesNotContain(found.All, q => q.Key == "linewidth_amplitude_hz");
    }

    [Fact]
    public void Beyond_critical_damping_there_is_no_decrement()
    {
        OscillatorQuantities found = OscillatorQuantities.From(new(1, 0), new(0.1, 0));
        Assert.True(double.IsNaN(found.LogarithmicDecrement!.Value.Value));
    }

    [Fact]
    public void An_unknown_uncertainty_stays_unknown()
    {
        OscillatorQuantities found = OscillatorQuantities.From(new(2.4, double.NaN), new(40, 0.1));
        Assert.True(double.IsNaN(found.QualityFactor!.Value.StandardUncertainty));
        Assert.Equal(Math.PI * 2.4 * 40, found.QualityFactor!.Value.Value, 10);
    }

    [Theory]
    [InlineData(0, 40)]
    [InlineData(double.NaN, 40)]
    [InlineData(-1, 40)]
    [InlineData(2.4, 0)]
    [InlineData(2.4, double.NaN)]
    [InlineData(double.PositiveInfinity, 40)]
    public void Values_that_are_not_positive_are_refused(double tau, double hz)
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => OscillatorQuantities.From(new(tau, 0), new(hz, 0)));
    }
}
