using System.Numerics;

namespace StreakTrack.Synthesis.Motion;

/// <summary>A linear damped oscillator under a drive that changes now and then: the exact solution of its equation of motion.</summary>
/// <remarks>
/// x'' + (2/tau) x' + (w_d^2 + 1/tau^2) x = drive. In each segment x = Re(S exp(i w (t - t_k)) + H exp((-1/tau + i w_d)(t - t_k))); the
/// complex H is what makes position and speed continuous at t_k. No rotating-wave approximation is made, so a switch-on beside the
/// resonance shows the small ripple at the sum frequency, and the amplitude may step by a part in 4Q when the drive is cut.
/// </remarks>
internal sealed class DrivenOscillation : IOscillation
{
    private readonly double _dampingPerSecond;
    private readonly double _angularFrequency;
    private readonly DriveSegment[] _segments;
    private readonly Complex[] _free;

    /// <summary>Creates the motion.</summary>
    /// <param name="frequencyHz">Frequency of the free oscillation.</param>
    /// <param name="tauSeconds">Decay time of the amplitude.</param>
    /// <param name="segments">Drives in the order of their times; the first has been there for ever.</param>
    public DrivenOscillation(double frequencyHz, double tauSeconds, params IReadOnlyList<DriveSegment> segments)
    {
        _dampingPerSecond = 1 / tauSeconds;
        _angularFrequency = 2 * Math.PI * frequencyHz;
        _segments = [.. segments];
        _free = new Complex[_segments.Length];
        for (int k = 1; k < _segments.Length; k++)
        {
            double start = _segments[k].StartSeconds;
            Complex before = Signal(k - 1, start), rateBefore = Rate(k - 1, start);
            Complex steady = _segments[k].SteadyMm;
            Complex steadyRate = new Complex(0, 2 * Math.PI * _segments[k].FrequencyHz) * steady;

            double position = before.Real - steady.Real, speed = rateBefore.Real - steadyRate.Real;
            _free[k] = new Complex(position, -(speed + position * _dampingPerSecond) / _angularFrequency);
        }
    }

    /// <summary>The steady response to a drive, divided by that to the same drive at the frequency of the free oscillation.</summary>
    public static Complex RelativeResponse(double frequencyHz, double tauSeconds, double driveHz)
    {
        double free = 2 * Math.PI * frequencyHz, undampedSquared = free * free + 1 / (tauSeconds * tauSeconds);
        return Stiffness(free) / Stiffness(2 * Math.PI * driveHz);

        Complex Stiffness(double w) => new(undampedSquared - w * w, 2 * w / tauSeconds);
    }

    /// <inheritdoc/>
    public double Deflection(double timeSeconds) => Signal(SegmentAt(timeSeconds), timeSeconds).Real;

    /// <inheritdoc/>
    public double Envelope(double timeSeconds) => Signal(SegmentAt(timeSeconds), timeSeconds).Magnitude;

    private int SegmentAt(double timeSeconds)
    {
        int k = _segments.Length - 1;
        while (k > 0 && timeSeconds < _segments[k].StartSeconds)
            k--;
        return k;
    }

    private Complex Steady(int k, double timeSeconds)
    {
        DriveSegment drive = _segments[k];
        return drive.SteadyMm * Complex.FromPolarCoordinates(1, 2 * Math.PI * drive.FrequencyHz * (timeSeconds - drive.StartSeconds));
    }

    private Complex Free(int k, double timeSeconds)
    {
        if (_free[k] == Complex.Zero)
            return Complex.Zero;

        double since = timeSeconds - _segments[k].StartSeconds;
        return _free[k] * Complex.FromPolarCoordinates(Math.Exp(-since * _dampingPerSecond), _angularFrequency * since);
    }

    private Complex Signal(int k, double timeSeconds) => Steady(k, timeSeconds) + Free(k, timeSeconds);

    private Complex Rate(int k, double timeSeconds) =>
        new Complex(0, 2 * Math.PI * _segments[k].FrequencyHz) * Steady(k, timeSeconds)
        + new Complex(-_dampingPerSecond, _angularFrequency) * Free(k, timeSeconds);
}
