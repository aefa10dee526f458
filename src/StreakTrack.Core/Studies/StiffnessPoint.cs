namespace StreakTrack.Core.Studies;

/// <summary>One point of a stiffness study.</summary>
/// <param name="CurrentA">Coil current, in A, with its sign.</param>
/// <param name="FrequencyHz">Resonance frequency at that current, in Hz, positive.</param>
/// <param name="CurrentUncertaintyA">Standard uncertainty of the current, in A; 0 (the default) when negligible.</param>
/// <param name="FrequencyUncertaintyHz">Standard uncertainty of the frequency, in Hz; NaN (the default) when it is not known.</param>
public readonly record struct StiffnessPoint(
    double CurrentA, double FrequencyHz, double CurrentUncertaintyA = 0, double FrequencyUncertaintyHz = double.NaN);
