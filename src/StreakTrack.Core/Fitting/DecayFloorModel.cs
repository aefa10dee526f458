namespace StreakTrack.Core.Fitting;

/// <summary>Decay onto a floor of the reading: A0 exp(-s/tau) + floor.</summary>
/// <remarks>The floor may come out negative, for an estimate that reads too little; its sign is not bounded.</remarks>
public sealed class DecayFloorModel : EnvelopeModel
{
    /// <inheritdoc/>
    public override string Name => "decay-floor";

    /// <inheritdoc/>
    public override string Formula => "A0 exp(-(t - t0)/tau) + floor";

    /// <inheritdoc/>
    public override IReadOnlyList<EnvelopeParameter> Parameters { get; } =
    [
        new(EnvelopeParameters.Tau, "decay time", 0), new(EnvelopeParameters.Amplitude0, "decaying amplitude at t0", 0),
        new(EnvelopeParameters.Floor, "floor of the reading"),
    ];

    /// <inheritdoc/>
    public override double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope)
    {
        (double tau, double a0, double floor) = (parameters[0], parameters[1], parameters[2]);
        slope = 0;
        if (!(tau > 0))
            return double.NaN;
        double e = Math.Exp(-s / tau);
        if (!gradient.IsEmpty)
        {
            gradient[0] = a0 * e * s / (tau * tau);
            gradient[1] = e;
            gradient[2] = 1;
            slope = -a0 * e / tau;
        }

        return a0 * e + floor;
    }
}
