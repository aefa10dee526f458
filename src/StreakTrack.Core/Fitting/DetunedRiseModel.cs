namespace StreakTrack.Core.Fitting;

/// <summary>Rise from rest under a drive that may be off resonance, by the square of the detuning: A1 sqrt(1 - 2 e cos(ws) + e^2) with
/// e = exp(-s/tau) and w = 2 pi df.</summary>
/// <remarks>
/// It is the curve of <see cref="TransientModel.FromRest"/>, which does not depend on the sign of the detuning: at zero its derivative by the detuning
/// vanishes, and least squares finds no way on. By the square it runs smoothly through zero, where it is the rise on resonance, and on to negative
/// squares, which have no meaning but let the profile of the decay time end where the noise has it end.
/// </remarks>
internal sealed class DetunedRiseModel : EnvelopeModel
{
    /// <summary>The only one.</summary>
    public static DetunedRiseModel Instance { get; } = new();

    private DetunedRiseModel()
    {
    }

    /// <inheritdoc/>
    public override string Name => TransientModel.FromRest.Name;

    /// <inheritdoc/>
    public override string Formula => TransientModel.FromRest.Formula;

    /// <inheritdoc/>
    public override IReadOnlyList<EnvelopeParameter> Parameters { get; } =
    [
        new(EnvelopeParameters.Tau, "decay time", 0), new(EnvelopeParameters.DetuningSquared, "square of the detuning", 0),
        new(EnvelopeParameters.Amplitude1, "amplitude long after t0", 0),
    ];

    /// <inheritdoc/>
    public override bool ShapeFixesSwitchTime => true;

    /// <inheritdoc/>
    public override double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope)
    {
        (double tau, double a1) = (parameters[0], parameters[2]);
        slope = 0;
        if (!(tau > 0))
            return double.NaN;
        double perSquare = 4 * Math.PI * Math.PI, omega2 = perSquare * parameters[1];
        double e = Math.Exp(-s / tau), gone = 1 - e;
        double half = Sinc(omega2 * s * s / 4), whole = Sinc(omega2 * s * s);

        // 1 - 2 e c + e^2 without the difference of near numbers: 1 - c is (w s)^2/2 times the square of sinc(w s/2).
        double missing = omega2 * s * s / 2 * half * half;

        // Before the start the curve goes on below zero, as that of the rise on resonance does: a corner would hold the start fast.
        double root = Math.CopySign(Math.Sqrt((gone * gone) + (2 * e * missing)), s);
        if (!gradient.IsEmpty)
        {
            double c = 1 - missing, over = root != 0 ? a1 / root : 0;
            gradient[0] = over * e * (e - c) * s / (tau * tau);
            gradient[1] = over * e * perSquare * s * s / 2 * whole;
            gradient[2] = root;
            slope = root != 0 ? over * e * (((c - e) / tau) + (omega2 * s * whole)) : a1 * Math.Sqrt((1 / (tau * tau)) + omega2);
        }

        return a1 * root;
    }

    /// <summary>sin(x)/x by the square of x; sinh for a negative one.</summary>
    private static double Sinc(double square)
    {
        if (Math.Abs(square) < 1e-3)
            return 1 - (square / 6 * (1 - (square / 20 * (1 - (square / 42)))));
        double x = Math.Sqrt(Math.Abs(square));
        return (square > 0 ? Math.Sin(x) : Math.Sinh(x)) / x;
    }
}
