namespace StreakTrack.Core.Fitting;

/// <summary>
/// Decay with dry friction beside the viscous damping, dA/dt = -A/tau - c, until the motion stops: (A0 + c tau) exp(-s/tau) - c tau.
/// </summary>
public sealed class DryFrictionModel : EnvelopeModel
{
    /// <inheritdoc/>
    public override string Name => "dry-friction";

    /// <inheritdoc/>
    public override string Formula => "max(0, (A0 + c tau) exp(-(t - t0)/tau) - c tau)";

    /// <inheritdoc/>
    public override IReadOnlyList<EnvelopeParameter> Parameters { get; } =
    [
        new(EnvelopeParameters.Tau, "decay time without dry friction", 0), new(EnvelopeParameters.Amplitude0, "amplitude at t0", 0),
        new(EnvelopeParameters.Friction, "dry friction", 0),
    ];

    /// <inheritdoc/>
    public override double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope)
    {
        (double tau, double a0, double c) = (parameters[0], parameters[1], parameters[2]);
        slope = 0;
        if (!(tau > 0))
            return double.NaN;
        double e = Math.Exp(-s / tau);
        double gone = 1 - e;
        double value = a0 * e - c * tau * gone;
        bool stopped = c > 0 && value < 0;
        if (!gradient.IsEmpty)
        {
            double eByTau = e * s / (tau * tau);
            gradient[0] = stopped ? 0 : (a0 + c * tau) * eByTau - c * gone;
            gradient[1] = stopped ? 0 : e;
            gradient[2] = stopped ? 0 : -tau * gone;
            slope = stopped ? 0 : -value / tau - c;
        }

        return stopped ? 0 : value;
    }
}
