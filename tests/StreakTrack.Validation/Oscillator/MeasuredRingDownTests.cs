using StreakTrack.Core.Oscillator;

namespace StreakTrack.Validation.Oscillator;

/// <summary>Oscillator quantities of measured ring-downs.</summary>
public class MeasuredRingDownTests
{
    // A bicycle wheel on a torsion rod (repository moorepants/resonance, MIT): decay time 4.400378(21) s with block-bootstrap uncertainty
    // 0.021 s and frequency 2.37314342 Hz of the free motion, fitted by SciPy as a decaying cosine; derived there: Q 32.81, logarithmic
    // decrement 0.09576. Tolerance: half a unit of the last printed digit; the frequencies' kinds differ by 1e-4 of Q only.
    [Fact]
    public void A_wheel_on_a_torsion_rod()
    {
        OscillatorQuantities found = OscillatorQuantities.From(new(4.400378, 0.021), new(2.37314342, 0), FrequencyMeaning.Damped);
        Assert.Equal(32.81, found.QualityFactor!.Value.Value, 0.0055);
        Assert.Equal(0.09576, found.LogarithmicDecrement!.Value.Value, 5e-6);
        Assert.Equal(0.021 / 4.400378, found.QualityFactor!.Value.StandardUncertainty / found.QualityFactor!.Value.Value, 1e-5);
    }

    // A Pohl wheel: ten successive amplitudes in degrees and the logarithms of amplitudes five periods apart as printed in a public
    // laboratory
    // report (seen; period about 1.627 s; tolerance 1e-6: the last printed digit). The readings are good to 0.5 degrees of about 100,
    // so each logarithm to 0.007; their mean over
    // five gives the decrement per period, and from it tau = T/decrement; the library goes the other way round.
    [Fact]
    public void A_Pohl_wheel()
    {
        double[] degrees = [141.0, 128.5, 117.5, 106.5, 97.0, 88.5, 80.5, 73.5, 67.0, 61.0];
        double[] printed = [0.465757, 0.467672, 0.469153, 0.463452, 0.463837];
        for (int i = 0; i < 5; i++)
            Assert.Equal(printed[i], Math.Log(degrees[i] / degrees[i + 5]), 1e-6);

        double decrement = printed.Average() / 5;
        const double period = 1.627;
        OscillatorQuantities found = OscillatorQuantities.From(new(period / decrement, 0), new(1 / period, 0), FrequencyMeaning.Damped);
        Assert.Equal(decrement, found.LogarithmicDecrement!.Value.Value, 1e-12);
        // zeta = delta/sqrt(4 pi² + delta²): public encyclopaedia text on the logarithmic decrement.
        Assert.Equal(decrement / Math.Sqrt((4 * Math.PI * Math.PI) + (decrement * decrement)), found.DampingRatio!.Value.Value, 1e-12);
    }

    // Small damping: decrement = pi/Q to (1/(8 Q²)) relative; IUPAC Gold Book, logarithmic decrement (doi 10.1351/goldbook.12780), and
    // Q = (pi/ln 2) f0 T_half (laboratory note on Q and decay time, both seen).
    [Fact]
    public void High_Q_relations()
    {
        OscillatorQuantities found = OscillatorQuantities.From(new(2.35, 0), new(23.47, 0));
        double q = found.QualityFactor!.Value.Value;
        Assert.Equal(Math.PI / q, found.LogarithmicDecrement!.Value.Value, Math.PI / q / (4 * q * q));
        Assert.Equal(Math.PI / Math.Log(2) * 23.47 * (2.35 * Math.Log(2)), q, 1e-10);
    }
}
