namespace StreakTrack.Core.Fitting;

/// <summary>Envelope after any change of a drive that is off resonance: |z1 + (z0 - z1) exp(-s/tau + i 2 pi df s)|.</summary>
/// <remarks>
/// Rotating-wave approximation: steady motion at the drive's frequency plus decaying motion at the free frequency, which beat at the
/// difference df. z1 is taken real; the mirror image (quadrature, df) to (-quadrature, -df) gives the same curve, so df is taken positive.
/// </remarks>
public sealed class TransientModel : EnvelopeModel
{
    /// <summary>Place of the detuning among the parameters of both forms.</summary>
    internal const int DetuningIndex = 1;

    private readonly bool _fromRest;

    private TransientModel(bool fromRest, IReadOnlyList<EnvelopeParameter> parameters)
    {
        _fromRest = fromRest;
        Parameters = parameters;
    }

    /// <summary>The transient after a start from rest, z0 = 0: three parameters.</summary>
    public static TransientModel FromRest { get; } = new(true,
    [
        new(EnvelopeParameters.Tau, "decay time", 0), new(EnvelopeParameters.Detuning, "detuning", 0),
        new(EnvelopeParameters.Amplitude1, "amplitude long after t0", 0),
    ]);

    /// <summary>The transient from any motion: five parameters.</summary>
    public static TransientModel General { get; } = new(false,
    [
        .. FromRest.Parameters, new(EnvelopeParameters.StartInPhase, "motion at t0 in phase"),
        new(EnvelopeParameters.StartQuadrature, "motion at t0 in quadrature"),
    ]);

    /// <inheritdoc/>
    public override string Name => "transient";

    /// <inheritdoc/>
    public override string Formula =>
        _fromRest ? "A1 |1 - exp(-(t - t0)/tau + i 2 pi df (t - t0))|" : "|A1 + (z0 - A1) exp(-(t - t0)/tau + i 2 pi df (t - t0))|";

    /// <inheritdoc/>
    public override IReadOnlyList<EnvelopeParameter> Parameters { get; }

    /// <inheritdoc/>
    public override bool ShapeFixesSwitchTime => _fromRest;

    /// <inheritdoc/>
    public override double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope)
    {
        if (_fromRest)
        {
            double value = DetunedRiseModel.Instance.Value(s, [parameters[0], parameters[1] * parameters[1], parameters[2]], gradient, out slope);
            if (!gradient.IsEmpty)
                gradient[1] *= 2 * parameters[1];
            return value;
        }

        (double tau, double detuning, double a1) = (parameters[0], parameters[1], parameters[2]);
        double x = parameters[3] - a1, y = parameters[4];
        slope = 0;
        if (!(tau > 0))
            return double.NaN;
        double e = Math.Exp(-s / tau);
        double omega = 2 * Math.PI * detuning;
        (double sin, double cos) = Math.SinCos(omega * s);
        double real = a1 + e * (x * cos - y * sin);
        double imaginary = e * (x * sin + y * cos);
        double size = Math.Sqrt(real * real + imaginary * imaginary);
        if (!gradient.IsEmpty)
        {
            // At 0 the modulus has a corner; any direction does there.
            (double cr, double ci) = size > 0 ? (real / size, imaginary / size) : (1, 0);
            double decaying = cr * (real - a1) + ci * imaginary;
            double turning = -cr * imaginary + ci * (real - a1);
            gradient[0] = decaying * s / (tau * tau);
            gradient[1] = turning * 2 * Math.PI * s;
            gradient[2] = cr * (1 - e * cos) - ci * e * sin;
            gradient[3] = e * (cr * cos + ci * sin);
            gradient[4] = e * (-cr * sin + ci * cos);
            slope = -decaying / tau + turning * omega;
        }

        return size;
    }
}
