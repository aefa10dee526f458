namespace StreakTrack.Core.Fitting;

/// <summary>Rise from rest on resonance: A1 (1 - exp(-s/tau)).</summary>
public sealed class RiseModel : EnvelopeModel
{
    /// <inheritdoc/>
    public override string Name => "rise";

    /// <inheritdoc/>
    public override string Formula => "A1 (1 - exp(-(t - t0)/tau))";

    /// <inheritdoc/>
    public override IReadOnlyList<EnvelopeParameter> Parameters { get; } =
        [new(EnvelopeParameters.Tau, "decay time", 0), new(EnvelopeParameters.Amplitude1, "amplitude long after t0", 0)];

    /// <inheritdoc/>
    public override bool ShapeFixesSwitchTime => true;

    /// <inheritdoc/>
    public override double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope)
    {
        (double tau, double a1) = (parameters[0], parameters[1]);
        slope = 0;
        if (!(tau > 0))
            return double.NaN;
        double e = Math.Exp(-s / tau);
        double reached = 1 - e;
        if (!gradient.IsEmpty)
        {
            gradient[0] = -a1 * e * s / (tau * tau);
            gradient[1] = reached;
            slope = a1 * e / tau;
        }

        return a1 * reached;
    }
}
