namespace StreakTrack.Core.Fitting;

/// <summary>How the amplitude runs after the drive was switched at t0. Before t0 it keeps the value that it has at t0.</summary>
/// <remarks>
/// The argument is always s = t - t0, in s. Parameters come in the order of <see cref="Parameters"/>; tau is always the first.
/// </remarks>
public abstract class EnvelopeModel
{
    /// <summary>Name of the model, as in the record and on the command line.</summary>
    public abstract string Name { get; }

    /// <summary>The model's own parameters; t0 is not among them.</summary>
    public abstract IReadOnlyList<EnvelopeParameter> Parameters { get; }

    /// <summary>The curve as a formula, for figures and reports.</summary>
    public abstract string Formula { get; }

    /// <summary>
    /// Whether the curve itself tells where t0 is when nothing was recorded before it: true for a start from rest, false where a shifted
    /// t0 is made good by another starting amplitude.
    /// </summary>
    public virtual bool ShapeFixesSwitchTime => false;

    /// <summary>The amplitude at s.</summary>
    /// <param name="s">Time since the switch, in s.</param>
    /// <param name="parameters">The parameters.</param>
    /// <param name="gradient">Receives the derivatives by the parameters; empty when they are not wanted.</param>
    /// <param name="slope">Receives the derivative by s, in mm/s; only set when the gradient is wanted.</param>
    /// <returns>The amplitude in mm; NaN outside the model's domain, such as for a tau that is not positive.</returns>
    public abstract double Value(double s, ReadOnlySpan<double> parameters, Span<double> gradient, out double slope);
}
