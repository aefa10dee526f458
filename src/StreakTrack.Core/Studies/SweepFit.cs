namespace StreakTrack.Core.Studies;

/// <summary>The motion under a stepped drive, fitted as a whole.</summary>
/// <remarks>
/// Standard uncertainties hold the scatter of the points, its correlation from point to point, and an offset that all amplitudes may share;
/// those of the drive's frequency scale and of the clip's clock are not in them.
/// </remarks>
public sealed record SweepFit
{
    /// <summary>Shape of the steady response.</summary>
    public required ResponseModel Response { get; init; }

    /// <summary>Whether the drive's phase jumps at the steps, each jump fitted.</summary>
    public required bool PhaseJumps { get; init; }

    /// <summary>
    /// <c>f0_hz</c> (undamped natural frequency), <c>damped_frequency_hz</c> (of the free oscillation, lower by f0/(8 Q^2)), <c>q</c> (pi f0 tau), <c>tau_s</c>,
    /// <c>resonance_amplitude_mm</c> (steady, for a drive at the damped frequency), <c>linewidth_power_hz</c> (f0/Q).
    /// </summary>
    public required IReadOnlyList<StudyParameter> Parameters { get; init; }

    /// <summary>Frames of the points used.</summary>
    public required IReadOnlyList<int> Frames { get; init; }

    /// <summary>Times of the points used, in s.</summary>
    public required IReadOnlyList<double> TimesSeconds { get; init; }

    /// <summary>Their amplitudes, in mm.</summary>
    public required IReadOnlyList<double> AmplitudesMm { get; init; }

    /// <summary>The curve at these times, in mm.</summary>
    public required IReadOnlyList<double> CurveMm { get; init; }

    /// <summary>Points that were used.</summary>
    public int Points => TimesSeconds.Count;

    /// <summary>Points minus parameters that the points determine.</summary>
    public required int DegreesOfFreedom { get; init; }

    /// <summary>Root mean square of the residuals, in mm.</summary>
    public required double ResidualRmsMm { get; init; }

    /// <summary>Correlation of neighbouring residuals that the uncertainties allow for.</summary>
    public required double NoiseCorrelation { get; init; }

    /// <summary>Akaike's corrected criterion, with correlated points counted as fewer; differences on the same points count.</summary>
    public required double Aicc { get; init; }

    /// <summary>The steady amplitude under a drive.</summary>
    /// <param name="frequencyHz">Drive frequency, in Hz.</param>
    public double SteadyMm(double frequencyHz)
    {
        double free = Parameter("damped_frequency_hz").Value.Value, tau = Parameter("tau_s").Value.Value;
        var envelope = new SweepEnvelope([new DriveStep(frequencyHz, 0)], 0, Response, freeLevels: false, phaseJumps: false);
        return envelope.SteadyAmplitude([free - frequencyHz, tau, 0, 0, Parameter("resonance_amplitude_mm").Value.Value], 0);
    }

    /// <summary>A parameter by name.</summary>
    /// <param name="name">One of <see cref="Parameters"/>.</param>
    public StudyParameter Parameter(string name) => Parameters.First(parameter => parameter.Name == name);
}
