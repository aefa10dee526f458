namespace StreakTrack.Core.Fitting;

/// <summary>Names of the parameters of the models. Each carries its unit.</summary>
public static class EnvelopeParameters
{
    /// <summary>Decay time of the amplitude (1/e), in s.</summary>
    public const string Tau = "tau_s";

    /// <summary>Amplitude at t0 that decays, in mm.</summary>
    public const string Amplitude0 = "amplitude0_mm";

    /// <summary>Amplitude long after t0, in mm.</summary>
    public const string Amplitude1 = "amplitude1_mm";

    /// <summary>What remains of the reading when the motion has died away, in mm.</summary>
    public const string Floor = "floor_mm";

    /// <summary>
    /// Time of the switch, in s of the series. Of a clip these are time stamps of frames, which mark the start of an exposure: what a frame shows
    /// happened up to one exposure later.
    /// </summary>
    public const string SwitchTime = "t0_s";

    /// <summary>Drive frequency minus frequency of the free oscillation, without its sign, in Hz.</summary>
    public const string Detuning = "detuning_hz";

    /// <summary>Square of the detuning, in Hz^2; within the search for a model only.</summary>
    internal const string DetuningSquared = "detuning_squared_hz2";

    /// <summary>Part of the motion at t0 in phase with the later steady motion, in mm.</summary>
    public const string StartInPhase = "start_in_phase_mm";

    /// <summary>Part of the motion at t0 in quadrature to the later steady motion, in mm.</summary>
    public const string StartQuadrature = "start_quadrature_mm";

    /// <summary>Coefficient b of the amplitude-dependent drag in dA/dt = -A/tau - b A^2, in 1/(mm s).</summary>
    public const string Drag = "drag_per_mm_s";

    /// <summary>Coefficient c of dry friction in dA/dt = -A/tau - c, in mm/s.</summary>
    public const string Friction = "friction_mm_per_s";
}
