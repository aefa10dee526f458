namespace StreakTrack.Core.References;

/// <summary>An instrument given by numbers instead of runs.</summary>
/// <param name="TauSeconds">Decay time of the amplitude, in s, positive, with its standard uncertainty.</param>
/// <param name="BetweenRunDeviationSeconds">Standard deviation of the decay time from run to run, in s; null when it is not known.</param>
/// <param name="FrequencyHz">Undamped frequency, in Hz; null when it is not known.</param>
public sealed record ReferenceParameters(UncertainValue TauSeconds, double? BetweenRunDeviationSeconds, UncertainValue? FrequencyHz);
