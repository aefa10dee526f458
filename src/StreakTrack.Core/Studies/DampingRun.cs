namespace StreakTrack.Core.Studies;

/// <summary>One decay of a damping study.</summary>
/// <param name="Setting">The setting at which it was measured, in the unit of the table.</param>
/// <param name="TauSeconds">Decay time of the amplitude to 1/e, in s, positive.</param>
/// <param name="TauUncertaintySeconds">Its standard uncertainty, in s; NaN (the default) when it is not known.</param>
/// <param name="FrequencyHz">Oscillation frequency, in Hz; NaN (the default) when it is not known.</param>
public readonly record struct DampingRun(
    double Setting, double TauSeconds, double TauUncertaintySeconds = double.NaN, double FrequencyHz = double.NaN);
