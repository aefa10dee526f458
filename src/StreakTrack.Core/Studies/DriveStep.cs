namespace StreakTrack.Core.Studies;

/// <summary>One setting of a drive that is stepped through resonance.</summary>
/// <param name="FrequencyHz">Drive frequency, in Hz, positive.</param>
/// <param name="StartSeconds">When it was set, in s of the clip.</param>
public readonly record struct DriveStep(double FrequencyHz, double StartSeconds);
