namespace StreakTrack.Core.Fitting;

/// <summary>
/// Decay with drag that grows with the amplitude, dA/dt = -A/tau - b A^2: A0 e/(1 + b tau A0 (1 - e)) with e = exp(-s/tau).
/// </summary>
/// <remarks>The solution follows from the equation by separation: 1/A obeys the linear equation d(1/A)/dt = (1/A)/tau + b.</remarks>
public sealed class DragModel : EnvelopeModel
{
    /// <inheritdoc/>
    public override string Name => "drag";

    /// <inheritdoc/>
    public override string Formula => "A0 e/(1 + b tau A0 (1 - e)), e = exp(-(t - t0)/tau)";

    /// <inheritdoc/>
    public override IReadOnlyList<EnvelopeParameter> Parameters { get; } =
    [
        new(EnvelopeParameters.Tau, "decay time at small amplitude", 0), new(EnvelopeParameters.Amplitude0, "amplitude at t0", 0),
        new(EnvelopeParameters.Drag, "amplitude-dependent drag", 0),
    ];

    /// <inheritdoc/>
    public override double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope)
    {
        (double tau, double a0, double b) = (parameters[0], parameters[1], parameters[2]);
        slope = 0;
        if (!(tau > 0))
            return double.NaN;
        double e = Math.Exp(-s / tau);
        double gone = 1 - e;
        double denominator = 1 + b * tau * a0 * gone;
        if (!(denominator > 0))
            return double.NaN;
        double value = a0 * e / denominator;
        if (!gradient.IsEmpty)
        {
            double square = denominator * denominator;
            double eByTau = e * s / (tau * tau);
            gradient[0] = (a0 * eByTau * denominator - a0 * e * (b * a0 * gone - b * tau * a0 * eByTau)) / square;
            gradient[1] = e / square;
            gradient[2] = -a0 * e * tau * a0 * gone / square;
            slope = -value / tau - b * value * value;
        }

        return value;
    }
}
