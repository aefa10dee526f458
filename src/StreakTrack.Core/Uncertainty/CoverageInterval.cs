namespace StreakTrack.Core.Uncertainty;

/// <summary>A coverage interval.</summary>
/// <param name="Low">Lower end.</param>
/// <param name="High">Upper end.</param>
public readonly record struct CoverageInterval(double Low, double High)
{
    /// <summary>Distance between the ends.</summary>
    public double Width => High - Low;

    /// <summary>Whether a value lies within the interval, its ends included.</summary>
    /// <param name="value">The value; NaN lies in no interval.</param>
    public bool Contains(double value) => value >= Low && value <= High;
}
