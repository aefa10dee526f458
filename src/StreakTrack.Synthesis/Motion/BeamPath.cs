using System.Numerics;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Motion;

/// <summary>Where the beam falls on the ruler at any time. Times count from the start of the first frame's exposure.</summary>
public sealed class BeamPath
{
    private readonly IOscillation _oscillation;
    private readonly LeverSettings _lever;

    /// <summary>The path of a motion over an optical lever.</summary>
    /// <param name="motion">What the oscillator does.</param>
    /// <param name="lever">The lever.</param>
    public BeamPath(OscillatorMotion motion, LeverSettings lever)
    {
        _lever = lever;
        _oscillation = Oscillation(motion);
    }

    /// <summary>Ruler reading of the spot's centre, in mm: x = L tan(2 theta) from the resting place.</summary>
    public double ReadingMm(double timeSeconds) => _lever.RestReadingMm + OnRuler(_oscillation.Deflection(timeSeconds));

    /// <summary>Amplitude of the streak on the ruler, in mm, from the motion's envelope at one time.</summary>
    public double AmplitudeMm(double timeSeconds) => OnRuler(_oscillation.Envelope(timeSeconds));

    private double OnRuler(double smallAngleMm) => _lever.DistanceMm * Math.Tan(smallAngleMm / _lever.DistanceMm);

    private double SmallAngle(double rulerMm) => _lever.DistanceMm * Math.Atan(rulerMm / _lever.DistanceMm);

    private IOscillation Oscillation(OscillatorMotion motion)
    {
        double frequency = motion.FrequencyHz, tau = motion.TauSeconds;
        var silence = new DriveSegment(0, frequency, Complex.Zero);

        switch (motion)
        {
            case DecayMotion m:
                return Switched(m.AmplitudeMm, 0, m.SwitchTimeSeconds);

            case FlooredDecayMotion m:
                return Switched(m.AmplitudeMm, m.FloorMm, m.SwitchTimeSeconds);

            case RiseMotion m:
                return Switched(0, m.AmplitudeMm, m.SwitchTimeSeconds);

            case DetunedTransientMotion m:
                double drive = frequency + m.DetuningHz;
                Complex steady = Complex.FromPolarCoordinates(
                    SmallAngle(m.AmplitudeMm), 2 * Math.PI * drive * m.SwitchTimeSeconds + motion.PhaseRadians);
                return new DrivenOscillation(frequency, tau, silence, new DriveSegment(m.SwitchTimeSeconds, drive, steady));

            case SteppedSweepMotion m:
                return Sweep(m);

            case DragDecayMotion m:
                return new DragOscillation(
                    frequency, tau, motion.PhaseRadians, SmallAngle(m.AmplitudeMm), m.DragPerMmSecond, m.SwitchTimeSeconds);

            default:
                throw new ArgumentException($"There is no oscillation for a {motion.GetType().Name}.", nameof(motion));
        }

        DrivenOscillation Switched(double beforeMm, double afterMm, double switchSeconds)
        {
            var turned = Complex.FromPolarCoordinates(1, 2 * Math.PI * frequency * switchSeconds + motion.PhaseRadians);
            return new DrivenOscillation(frequency, tau,
                new DriveSegment(switchSeconds, frequency, SmallAngle(beforeMm) * turned),
                new DriveSegment(switchSeconds, frequency, SmallAngle(afterMm) * turned));
        }
    }

    private DrivenOscillation Sweep(SteppedSweepMotion motion)
    {
        var segments = new DriveSegment[motion.DriveFrequenciesHz.Count];
        double drivePhase = motion.PhaseRadians, onResonance = SmallAngle(motion.ResonanceAmplitudeMm);
        for (int k = 0; k < segments.Length; k++)
        {
            double drive = motion.DriveFrequenciesHz[k];
            Complex response = DrivenOscillation.RelativeResponse(motion.FrequencyHz, motion.TauSeconds, drive);
            segments[k] = new DriveSegment(
                k * motion.HoldSeconds, drive, onResonance * response * Complex.FromPolarCoordinates(1, drivePhase));
            drivePhase += 2 * Math.PI * drive * motion.HoldSeconds;
        }

        return new DrivenOscillation(motion.FrequencyHz, motion.TauSeconds, segments);
    }
}
