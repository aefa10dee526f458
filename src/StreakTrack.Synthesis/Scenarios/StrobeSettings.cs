namespace StreakTrack.Synthesis.Scenarios;

/// <summary>Light that is switched on and off periodically.</summary>
public sealed record StrobeSettings
{
    /// <summary>Flashes a second, 0.5 to 10 000. Default 34.5.</summary>
    public double FrequencyHz { get; init => field = Guard.Between(value, 0.5, 10_000); } = 34.5;

    /// <summary>Share of the time that the light is on, 0.001 to 1. Default 0.05.</summary>
    public double OnShare { get; init => field = Guard.Between(value, 0.001, 1); } = 0.05;

    /// <summary>Seconds that the light has been on until a time, counted from a time when it came on.</summary>
    internal double OnTime(double timeSeconds)
    {
        double periods = timeSeconds * FrequencyHz, whole = Math.Floor(periods);
        return (whole * OnShare + Math.Min(periods - whole, OnShare)) / FrequencyHz;
    }
}
