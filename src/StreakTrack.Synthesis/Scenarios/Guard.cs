using System.Runtime.CompilerServices;

namespace StreakTrack.Synthesis.Scenarios;

/// <summary>Range checks of the scenario's properties; NaN fails every one of them.</summary>
internal static class Guard
{
    /// <summary>The value, if it lies in the closed range.</summary>
    /// <exception cref="ArgumentOutOfRangeException">It does not.</exception>
    public static double Between(double value, double least, double most, [CallerMemberName] string name = "")
    {
        if (!(value >= least && value <= most))
            throw new ArgumentOutOfRangeException(name, value, FormattableString.Invariant($"{name} must lie between {least} and {most}."));

        return value;
    }

    /// <summary>The value, if it lies in the closed range.</summary>
    /// <exception cref="ArgumentOutOfRangeException">It does not.</exception>
    public static int Between(int value, int least, int most, [CallerMemberName] string name = "")
    {
        if (value < least || value > most)
            throw new ArgumentOutOfRangeException(name, value, FormattableString.Invariant($"{name} must lie between {least} and {most}."));

        return value;
    }
}
