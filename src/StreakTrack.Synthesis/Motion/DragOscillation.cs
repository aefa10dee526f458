namespace StreakTrack.Synthesis.Motion;

/// <summary>A steady swing that decays from a switch on with drag: dA/dt = -A/tau - b A^2, solved in closed form.</summary>
/// <remarks>The amplitude changes slowly beside the oscillation, so that the phase runs on at the frequency of the free
/// oscillation.</remarks>
internal sealed class DragOscillation(
    double frequencyHz, double tauSeconds, double phaseRadians, double amplitudeMm, double dragPerMmSecond, double switchSeconds)
    : IOscillation
{
    /// <inheritdoc/>
    public double Deflection(double timeSeconds) =>
        Envelope(timeSeconds) * Math.Cos(2 * Math.PI * frequencyHz * timeSeconds + phaseRadians);

    /// <inheritdoc/>
    public double Envelope(double timeSeconds)
    {
        if (timeSeconds <= switchSeconds)
            return amplitudeMm;

        double decay = Math.Exp(-(timeSeconds - switchSeconds) / tauSeconds);
        return amplitudeMm * decay / (1 + dragPerMmSecond * tauSeconds * amplitudeMm * (1 - decay));
    }
}
