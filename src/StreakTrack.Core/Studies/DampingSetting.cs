namespace StreakTrack.Core.Studies;

/// <summary>The decays at one setting, taken together.</summary>
/// <param name="Setting">The setting.</param>
/// <param name="Runs">Number of decays.</param>
/// <param name="RatePerS">
/// Weighted mean of the damping rate 1/tau, in 1/s; its uncertainty holds that of the decays and the scatter between runs, and is NaN
/// when
/// neither is known.
/// </param>
/// <param name="ScatterPerS">Standard deviation of the rates at this setting, in 1/s; NaN for a single decay.</param>
/// <param name="TauSeconds">Decay time that belongs to the mean rate, in s.</param>
/// <param name="FrequencyHz">Mean frequency, in Hz; NaN without one.</param>
/// <param name="QualityFactor">pi f0 tau; null without a frequency.</param>
/// <param name="DampingRatio">1/(2 Q); null without a frequency.</param>
public sealed record DampingSetting(
    double Setting, int Runs, UncertainValue RatePerS, double ScatterPerS, UncertainValue TauSeconds, double FrequencyHz,
    UncertainValue? QualityFactor, UncertainValue? DampingRatio);
