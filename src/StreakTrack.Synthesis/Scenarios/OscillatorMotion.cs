using System.Text.Json.Serialization;

namespace StreakTrack.Synthesis.Scenarios;

/// <summary>What the oscillator does during the clip. Amplitudes are those of the streak on the ruler: half the distance between its
/// turning points. The decay time belongs to the mirror's angle.</summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "kind")]
[JsonDerivedType(typeof(DecayMotion), "decay")]
[JsonDerivedType(typeof(FlooredDecayMotion), "decay-floor")]
[JsonDerivedType(typeof(RiseMotion), "rise")]
[JsonDerivedType(typeof(DetunedTransientMotion), "transient")]
[JsonDerivedType(typeof(SteppedSweepMotion), "sweep")]
[JsonDerivedType(typeof(DragDecayMotion), "drag")]
public abstract record OscillatorMotion
{
    /// <summary>Frequency of the free oscillation, in Hz, 0.5 to 500. Default 34.</summary>
    public double FrequencyHz { get; init => field = Guard.Between(value, 0.5, 500); } = 34;

    /// <summary>Decay time of the mirror's amplitude (to 1/e), in s, 0.02 to 1000. Default 2.</summary>
    public double TauSeconds { get; init => field = Guard.Between(value, 0.02, 1000); } = 2;

    /// <summary>Phase of the drive at the clip's start, in rad, -7 to 7. Default 0.</summary>
    public double PhaseRadians { get; init => field = Guard.Between(value, -7, 7); }

    /// <summary>The largest amplitude that the streak is expected to reach, in mm; the laser's level refers to it.</summary>
    [JsonIgnore]
    public abstract double LargestAmplitudeMm { get; }
}

/// <summary>A steady drive on resonance that is cut: the plain decay.</summary>
public sealed record DecayMotion : OscillatorMotion
{
    /// <summary>Amplitude while the drive is on, in mm, 0 to 1000. Default 40.</summary>
    public double AmplitudeMm { get; init => field = Guard.Between(value, 0, 1000); } = 40;

    /// <summary>When the drive is cut, in s after the first frame's exposure begins; below 0 the clip starts in mid-decay. Default
    /// 1.5.</summary>
    public double SwitchTimeSeconds { get; init => field = Guard.Between(value, -1000, 10000); } = 1.5;

    /// <inheritdoc/>
    [JsonIgnore]
    public override double LargestAmplitudeMm => AmplitudeMm;
}

/// <summary>A steady drive on resonance that is turned down and not off, so that the decay ends on a floor.</summary>
public sealed record FlooredDecayMotion : OscillatorMotion
{
    /// <summary>Amplitude under the full drive, in mm, 0 to 1000. Default 40.</summary>
    public double AmplitudeMm { get; init => field = Guard.Between(value, 0, 1000); } = 40;

    /// <summary>Amplitude under the remaining drive, in mm, 0 to 1000. Default 4.</summary>
    public double FloorMm { get; init => field = Guard.Between(value, 0, 1000); } = 4;

    /// <summary>When the drive is turned down, in s. Default 1.5.</summary>
    public double SwitchTimeSeconds { get; init => field = Guard.Between(value, -1000, 10000); } = 1.5;

    /// <inheritdoc/>
    [JsonIgnore]
    public override double LargestAmplitudeMm => Math.Max(AmplitudeMm, FloorMm);
}

/// <summary>A drive on resonance that is switched on while the oscillator rests.</summary>
public sealed record RiseMotion : OscillatorMotion
{
    /// <summary>Amplitude in the end, in mm, 0 to 1000. Default 40.</summary>
    public double AmplitudeMm { get; init => field = Guard.Between(value, 0, 1000); } = 40;

    /// <summary>When the drive is switched on, in s. Default 1.5.</summary>
    public double SwitchTimeSeconds { get; init => field = Guard.Between(value, -1000, 10000); } = 1.5;

    /// <inheritdoc/>
    [JsonIgnore]
    public override double LargestAmplitudeMm => AmplitudeMm;
}

/// <summary>A drive beside the resonance that is switched on while the oscillator rests: beats at the difference frequency.</summary>
public sealed record DetunedTransientMotion : OscillatorMotion
{
    /// <summary>Amplitude in the end, in mm, 0 to 500. Default 25.</summary>
    public double AmplitudeMm { get; init => field = Guard.Between(value, 0, 500); } = 25;

    /// <summary>Drive frequency minus frequency of the free oscillation, in Hz, -50 to 50. Default 1.</summary>
    public double DetuningHz { get; init => field = Guard.Between(value, -50, 50); } = 1;

    /// <summary>When the drive is switched on, in s. Default 1.5.</summary>
    public double SwitchTimeSeconds { get; init => field = Guard.Between(value, -1000, 10000); } = 1.5;

    /// <summary>The first beat reaches at most twice the final amplitude.</summary>
    [JsonIgnore]
    public override double LargestAmplitudeMm => 2 * AmplitudeMm;
}

/// <summary>A drive of constant strength whose frequency is stepped through the resonance, the phase of the drive running on.</summary>
public sealed record SteppedSweepMotion : OscillatorMotion
{
    /// <summary>Steady amplitude for a drive at the frequency of the free oscillation, in mm, 0 to 1000. Default 45.</summary>
    public double ResonanceAmplitudeMm { get; init => field = Guard.Between(value, 0, 1000); } = 45;

    /// <summary>Drive frequencies in the order of use, in Hz, 1 to 1000 of them; the first is steady from before the clip.</summary>
    public required IReadOnlyList<double> DriveFrequenciesHz
    {
        get;
        init
        {
            Guard.Between(value.Count, 1, 1000);
            foreach (double frequency in value)
                Guard.Between(frequency, 0.1, 1000);
            field = [.. value];
        }
    }

    /// <summary>Time on each frequency, in s, 0.1 to 1000. Default 5.</summary>
    public double HoldSeconds { get; init => field = Guard.Between(value, 0.1, 1000); } = 5;

    /// <inheritdoc/>
    [JsonIgnore]
    public override double LargestAmplitudeMm => ResonanceAmplitudeMm;
}

/// <summary>A decay with drag that grows with the amplitude: dA/dt = -A/tau - b A^2.</summary>
public sealed record DragDecayMotion : OscillatorMotion
{
    /// <summary>Amplitude until the switch, in mm, 0 to 1000. Default 40.</summary>
    public double AmplitudeMm { get; init => field = Guard.Between(value, 0, 1000); } = 40;

    /// <summary>The constant b, in 1/(mm s), 0 to 10. Default 0.005.</summary>
    public double DragPerMmSecond { get; init => field = Guard.Between(value, 0, 10); } = 0.005;

    /// <summary>When the drive is cut, in s. Default 1.5.</summary>
    public double SwitchTimeSeconds { get; init => field = Guard.Between(value, -1000, 10000); } = 1.5;

    /// <inheritdoc/>
    [JsonIgnore]
    public override double LargestAmplitudeMm => AmplitudeMm;
}
