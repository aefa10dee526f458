namespace StreakTrack.Core.Fitting;

/// <summary>Decay to zero with a single decay time: A0 exp(-s/tau).</summary>
public sealed class DecayModel : EnvelopeModel
{
    /// <inheritdoc/>
    public override string Name => "decay";

    /// <inheritdoc/>
    public override string Formula => "A0 exp(-(t - t0)/tau)";

    /// <inheritdoc/>
    public override IReadOnlyList<EnvelopeParameter> Parameters { get; } =
        [new(EnvelopeParameters.Tau, "decay time", 0), new(EnvelopeParameters.Amplitude0, "amplitude at t0", 0)];

    /// <inheritdoc/>
    public override double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope)
    {
        (double tau, double a0) = (parameters[0], parameters[1]);
        slope = 0;
        if (!(tau > 0))
            return double.NaN;
        double e = Math.Exp(-s / tau);
        if (!gradient.IsEmpty)
        {
            gradient[0] = a0 * e * s / (tau * tau);
            gradient[1] = e;
            slope = -a0 * e / tau;
        }

        return a0 * e;
    }
}
