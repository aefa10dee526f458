namespace StreakTrack.Core.Oscillator;

/// <summary>Frequencies that pictures taken at a steady rate cannot tell apart.</summary>
public static class AliasFrequency
{
    /// <summary>The frequency nearest to an expected one that looks, once a picture, like the alias: n times the rate plus or minus the
    /// alias.</summary>
    /// <param name="aliasHz">The frequency folded to 0 .. half of the rate, in Hz.</param>
    /// <param name="rateHz">Pictures a second, positive.</param>
    /// <param name="expectedHz">The expected frequency, in Hz; has to be right to less than half of the distance of neighbouring ones.</param>
    public static double Nearest(double aliasHz, double rateHz, double expectedHz)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(rateHz);
        double turns = Math.Floor(expectedHz / rateHz);
        double[] alike =
        [
            .. from n in new[] { turns - 1, turns, turns + 1 }
               from sign in new[] { -1, 1 }
               select (n * rateHz) + (sign * aliasHz),
        ];
        return alike.MinBy(f => Math.Abs(f - expectedHz));
    }
}
