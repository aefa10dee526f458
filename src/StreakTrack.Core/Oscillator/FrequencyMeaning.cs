namespace StreakTrack.Core.Oscillator;

/// <summary>Which of the oscillator's frequencies a number is. For a high Q they hardly differ: relatively by 1/(8 Q²) and 1/(4 Q²).</summary>
public enum FrequencyMeaning
{
    /// <summary>
    /// The undamped natural frequency f0: the one at which the driven motion lags by 90 degrees and velocity and absorbed power are largest.
    /// </summary>
    Undamped,

    /// <summary>The frequency of the free, decaying oscillation: fd = f0 sqrt(1 - 1/(4 Q²)).</summary>
    Damped,

    /// <summary>The frequency of the largest steady amplitude: f0 sqrt(1 - 1/(2 Q²)).</summary>
    AmplitudePeak,
}
