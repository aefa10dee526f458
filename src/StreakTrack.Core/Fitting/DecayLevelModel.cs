namespace StreakTrack.Core.Fitting;

/// <summary>Exponential approach to another level, from above or below: A1 + (A0 - A1) exp(-s/tau).</summary>
public sealed class DecayLevelModel : EnvelopeModel
{
    /// <inheritdoc/>
    public override string Name => "decay-level";

    /// <inheritdoc/>
    public override string Formula => "A1 + (A0 - A1) exp(-(t - t0)/tau)";

    /// <inheritdoc/>
    public override IReadOnlyList<EnvelopeParameter> Parameters { get; } =
    [
        new(EnvelopeParameters.Tau, "decay time", 0), new(EnvelopeParameters.Amplitude0, "amplitude at t0"),
        new(EnvelopeParameters.Amplitude1, "amplitude long after t0"),
    ];

    /// <inheritdoc/>
    public override double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope)
    {
        (double tau, double a0, double a1) = (parameters[0], parameters[1], parameters[2]);
        slope = 0;
        if (!(tau > 0))
            return double.NaN;
        double e = Math.Exp(-s / tau);
        if (!gradient.IsEmpty)
        {
            gradient[0] = (a0 - a1) * e * s / (tau * tau);
            gradient[1] = e;
            gradient[2] = 1 - e;
            slope = -(a0 - a1) * e / tau;
        }

        return a1 + (a0 - a1) * e;
    }
}
