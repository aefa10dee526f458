namespace StreakTrack.Core.Studies;

/// <summary>The numbers that studies compute with.</summary>
internal static class Magnitude
{
    private const double Smallest = 1e-60;
    private const double Largest = 1e60;

    /// <summary>
    /// Whether a number is finite and zero or of a size whose fourth power does not leave the range of a double. No measurement lies
    /// beyond; a
    /// number that does is a slip, and it would turn results into infinities.
    /// </summary>
    public static bool IsUsable(double value) => value == 0 || (Math.Abs(value) >= Smallest && Math.Abs(value) <= Largest);
}
