namespace StreakTrack.Synthesis.Scenarios;

/// <summary>What a person would have marked on the ruler.</summary>
public sealed record MarkSettings
{
    /// <summary>Number of ticks marked, 2 to 200. Default 11. Fewer when fewer tenth ticks are in the picture.</summary>
    public int Count { get; init => field = Guard.Between(value, 2, 200); } = 11;

    /// <summary>Standard deviation of a click along each axis, in px, 0 to 20. Default 0.5.</summary>
    public double ScatterPx { get; init => field = Guard.Between(value, 0, 20); } = 0.5;

    /// <summary>Distance of the clicked points from the ruler's ticked edge, in mm, -1000 to 1000; null for the streak's own
    /// line.</summary>
    public double? FromEdgeMm { get; init => field = value is double v ? Guard.Between(v, -1000, 1000) : null; }
}
