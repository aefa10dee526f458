namespace StreakTrack.Reporting.References;

/// <summary>The decay that a hand-out draws and lists.</summary>
internal static class ReferenceDecay
{
    /// <summary>Decay times over which it is shown.</summary>
    public const double DecayTimesShown = 3;

    /// <summary>Amplitude over its first value.</summary>
    /// <param name="timeSeconds">Time after the drive was cut, in s; 0 or more.</param>
    /// <param name="tauSeconds">Decay time, in s; 0, where a tolerance reaches down to it, is a decay that is over at once.</param>
    public static double At(double timeSeconds, double tauSeconds) => tauSeconds > 0 ? Math.Exp(-timeSeconds / tauSeconds) : timeSeconds > 0 ? 0 : 1;
}
