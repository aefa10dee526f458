namespace StreakTrack.Core.Oscillator;

/// <summary>
/// What follows from the decay time, and from the frequency where it is known, for a linear damped oscillator
/// <c>x'' + (2/tau) x' + (2 pi f0)² x = 0</c>, whose amplitude falls as <c>exp(-t/tau)</c>.
/// </summary>
/// <remarks>
/// All relations are exact for this equation, at any Q, unless a member says otherwise. Uncertainties are standard uncertainties,
/// propagated to first order from those of tau and of the frequency, which are taken as independent.
/// </remarks>
public sealed record OscillatorQuantities
{
    private OscillatorQuantities()
    {
    }

    /// <summary>Decay time of the amplitude to 1/e, in s, as given.</summary>
    public required UncertainValue TauSeconds { get; init; }

    /// <summary>Decay time of the energy to 1/e, in s: tau/2.</summary>
    public required UncertainValue EnergyDecayTimeSeconds { get; init; }

    /// <summary>Time after which the transient's envelope has fallen to 1 %, in s: tau ln 100.</summary>
    public required UncertainValue SettlingTimeSeconds { get; init; }

    /// <summary>Full width at half maximum of the absorbed power against drive frequency, in Hz: f0/Q = 1/(pi tau), at any Q.</summary>
    public required UncertainValue LinewidthPowerHz { get; init; }

    /// <summary>
    /// Full width at half maximum of the amplitude against drive frequency in the limit of high Q, in Hz: sqrt(3) f0/Q = sqrt(3)/(pi tau).
    /// </summary>
    public required UncertainValue LinewidthAmplitudeHighQHz { get; init; }

    /// <summary>Undamped natural frequency f0, in Hz; null without a frequency.</summary>
    public UncertainValue? UndampedFrequencyHz { get; init; }

    /// <summary>Quality factor: pi f0 tau with the undamped f0; null without a frequency.</summary>
    public UncertainValue? QualityFactor { get; init; }

    /// <summary>Damping ratio: 1/(2 Q), 1 at critical damping; null without a frequency.</summary>
    public UncertainValue? DampingRatio { get; init; }

    /// <summary>
    /// Logarithmic decrement: ln of the ratio of amplitudes one full period apart, 1/(fd tau) with fd the frequency of the free
    /// oscillation; null without a frequency, NaN when Q is at most 1/2 and nothing oscillates.
    /// </summary>
    public UncertainValue? LogarithmicDecrement { get; init; }

    /// <summary>
    /// Full width at half maximum of the amplitude against drive frequency, in Hz; null without a frequency, NaN when Q is so small
    /// (below about 1.93) that the curve does not fall to half its maximum on the low side.
    /// </summary>
    public UncertainValue? LinewidthAmplitudeHz { get; init; }

    /// <summary>All quantities that could be had, in the order in which reports list them.</summary>
    public IReadOnlyList<NamedQuantity> All
    {
        get
        {
            var all = new List<NamedQuantity>();
            Add("q", "quality factor Q", "", "π f₀ τ", QualityFactor);
            Add("damping_ratio", "damping ratio ζ", "", "1/(2 Q)", DampingRatio);
            Add("logarithmic_decrement", "logarithmic decrement Λ", "", "2π/√(4 Q² − 1)", LogarithmicDecrement);
            Add("undamped_frequency_hz", "undamped frequency f₀", "Hz", "", UndampedFrequencyHz);
            Add("linewidth_power_hz", "linewidth of the power (full width at half maximum)", "Hz", "f₀/Q = 1/(π τ)", LinewidthPowerHz);
            Add("linewidth_amplitude_hz", "linewidth of the amplitude (full width at half maximum)", "Hz", "exact response at this Q",
                LinewidthAmplitudeHz);
            Add("linewidth_amplitude_high_q_hz", "linewidth of the amplitude, limit of high Q", "Hz", "√3 f₀/Q = √3/(π τ)",
                LinewidthAmplitudeHighQHz);
            Add("energy_decay_time_s", "decay time of the energy", "s", "τ/2", EnergyDecayTimeSeconds);
            Add("settling_time_s", "time to settle within 1 %", "s", "τ ln 100", SettlingTimeSeconds);
            return all;

            void Add(string key, string label, string unit, string relation, UncertainValue? value)
            {
                if (value is UncertainValue known && double.IsFinite(known.Value))
                    all.Add(new NamedQuantity(key, label, unit, relation, known));
            }
        }
    }

    /// <summary>Computes the quantities.</summary>
    /// <param name="tauSeconds">Decay time of the amplitude to 1/e, in s, positive.</param>
    /// <param name="frequencyHz">
    /// Oscillation frequency, in Hz, positive; null when not known. <paramref name="meaning"/> says which frequency it is.
    /// </param>
    /// <param name="meaning">Which of the oscillator's frequencies <paramref name="frequencyHz"/> is. Default: the undamped one.</param>
    /// <exception cref="ArgumentOutOfRangeException">
    /// A value is not positive and finite, or a standard uncertainty is negative. A NaN uncertainty is accepted and makes every uncertainty
    /// that depends on it NaN.
    /// </exception>
    public static OscillatorQuantities From(
        UncertainValue tauSeconds, UncertainValue? frequencyHz = null, FrequencyMeaning meaning = FrequencyMeaning.Undamped)
    {
        RequirePositive(tauSeconds, nameof(tauSeconds));
        double tau = tauSeconds.Value;
        double uTau = tauSeconds.StandardUncertainty;
        double width = 1 / (Math.PI * tau);
        UncertainValue Scaled(double factor) => new(factor * tau, factor * uTau);
        UncertainValue Width(double factor) => new(factor * width, factor * width * uTau / tau);

        var withoutFrequency = new OscillatorQuantities
        {
            TauSeconds = tauSeconds,
            EnergyDecayTimeSeconds = Scaled(0.5),
            SettlingTimeSeconds = Scaled(Math.Log(100)),
            LinewidthPowerHz = Width(1),
            LinewidthAmplitudeHighQHz = Width(Math.Sqrt(3)),
        };
        if (frequencyHz is not UncertainValue frequency)
            return withoutFrequency;

        RequirePositive(frequency, nameof(frequencyHz));
        // With w = 2 pi f tau for the given frequency: (2 Q)² = w² + k, where k = 0, 1, 2 for the undamped, damped and peak frequency.
        int k = meaning switch
        {
            FrequencyMeaning.Undamped => 0,
            FrequencyMeaning.Damped => 1,
            FrequencyMeaning.AmplitudePeak => 2,
            _ => throw new ArgumentOutOfRangeException(nameof(meaning), meaning, "Unknown frequency."),
        };
        double w = 2 * Math.PI * frequency.Value * tau;
        double twoQ = Math.Sqrt((w * w) + k);
        double q = twoQ / 2;
        double f0 = twoQ / (2 * Math.PI * tau);

        // Derivatives by ln tau and ln f; a relative uncertainty is then all that is needed.
        double relativeTau = uTau / tau;
        double relativeF = frequency.StandardUncertainty / frequency.Value;
        double logQ = w * w / (twoQ * twoQ);
        UncertainValue FromQ(double value, double derivative) =>
            new(value, Math.Abs(derivative) * q * logQ * Math.Sqrt((relativeTau * relativeTau) + (relativeF * relativeF)));
        UncertainValue FromF0AndQ(double shape, double shapeDerivative)
        {
            // value = f0 shape(Q); f0 follows tau as d ln f0/d ln tau = logQ - 1.
            double byTau = f0 * ((shape * (logQ - 1)) + (shapeDerivative * q * logQ));
            double byF = f0 * logQ * (shape + (shapeDerivative * q));
            double tauPart = byTau * relativeTau;
            double fPart = byF * relativeF;
            return new UncertainValue(f0 * shape, Math.Sqrt((tauPart * tauPart) + (fPart * fPart)));
        }

        double ringing = (twoQ * twoQ) - 1;
        double decrement = ringing > 0 ? 2 * Math.PI / Math.Sqrt(ringing) : double.NaN;
        (double amplitudeWidth, double amplitudeWidthDerivative) = RelativeAmplitudeWidth(q);
        return withoutFrequency with
        {
            UndampedFrequencyHz = FromF0AndQ(1, 0),
            QualityFactor = FromQ(q, 1),
            DampingRatio = FromQ(1 / twoQ, 1 / (twoQ * q)),
            LogarithmicDecrement = FromQ(decrement, decrement * 4 * q / ringing),
            LinewidthAmplitudeHz = FromF0AndQ(amplitudeWidth, amplitudeWidthDerivative),
        };
    }

    /// <summary>Full width at half maximum of the amplitude curve over f0, and its derivative by Q.</summary>
    private static (double Width, double Derivative) RelativeAmplitudeWidth(double q)
    {
        // A(f) is half its maximum where (1-u)² + u/Q² = 4 m, with u = (f/f0)² and m the least value of the left side:
        // u = p ± sqrt(3 m), p = 1 - 1/(2 Q²), m = (1/Q²)(1 - 1/(4 Q²)).
        double inverse2 = 1 / (q * q);
        double p = 1 - (inverse2 / 2);
        double m = inverse2 * (1 - (inverse2 / 4));
        double root = Math.Sqrt(3 * m);
        double low = p - root;
        if (!(p > 0 && low > 0))
            return (double.NaN, double.NaN);

        double lower = Math.Sqrt(low);
        double upper = Math.Sqrt(p + root);
        // The difference of the two roots in the form that does not cancel at high Q.
        double width = 2 * root / (upper + lower);
        double pByQ = inverse2 / q;
        double rootByQ = 1.5 * ((inverse2 * inverse2) - (2 * inverse2)) / q / root;
        return (width, ((pByQ + rootByQ) / (2 * upper)) - ((pByQ - rootByQ) / (2 * lower)));
    }

    private static void RequirePositive(UncertainValue value, string name)
    {
        if (!(value.Value > 0 && double.IsFinite(value.Value)))
            throw new ArgumentOutOfRangeException(name, value.Value, "The value must be positive and finite.");
        if (value.StandardUncertainty < 0)
            throw new ArgumentOutOfRangeException(name, value.StandardUncertainty, "A standard uncertainty cannot be negative.");
    }
}
