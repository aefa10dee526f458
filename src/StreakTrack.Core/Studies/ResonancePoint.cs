namespace StreakTrack.Core.Studies;

/// <summary>One point of a resonance curve.</summary>
/// <param name="FrequencyHz">Drive frequency, in Hz, positive.</param>
/// <param name="Response">Steady amplitude (or power), in the unit of the table.</param>
/// <param name="ResponseUncertainty">Its standard uncertainty; NaN (the default) when it is not known.</param>
public readonly record struct ResonancePoint(double FrequencyHz, double Response, double ResponseUncertainty = double.NaN);
