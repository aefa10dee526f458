using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Ruler;

/// <summary>How the ruler is followed from frame to frame.</summary>
public sealed record RulerFollowerOptions
{
    /// <summary>How far from the axis the ruler is looked at, in mm on either side. Above 0, at most 100; 14 by default: ticks, digits and one edge.</summary>
    public double AcrossMm { get; init; } = 14;

    /// <summary>A line along the middle of the streak, two points in the reference picture; null (the default) for the scale's axis. What lies
    /// within <see cref="StreakHalfWidthPx"/> of it is not looked at, because the streak changes while the ruler does not.</summary>
    public (PicturePoint From, PicturePoint To)? StreakLine { get; init; }

    /// <summary>Half the width of the strip that the streak may light up, in px; 0 or more; 20 by default.</summary>
    public double StreakHalfWidthPx { get; init; } = 20;

    /// <summary>How far the ruler may move between two frames, in px. From 2 to 100; 10 by default.</summary>
    public double ReachPx { get; init; } = 10;

    /// <summary>Pixels that are compared. From 500 to 50 000; 6000 by default.</summary>
    public int PixelCount { get; init; } = 6000;

    internal void Validate()
    {
        if (!(AcrossMm > 0 && AcrossMm <= 100))
            throw new ArgumentOutOfRangeException(nameof(AcrossMm), AcrossMm, "Must be above 0 and at most 100 mm.");
        if (!(StreakHalfWidthPx >= 0 && StreakHalfWidthPx < 1e4))
            throw new ArgumentOutOfRangeException(nameof(StreakHalfWidthPx), StreakHalfWidthPx, "Must be 0 px or more.");
        if (!(ReachPx >= 2 && ReachPx <= 100))
            throw new ArgumentOutOfRangeException(nameof(ReachPx), ReachPx, "Must lie between 2 and 100 px.");
        if (!(PixelCount >= 500 && PixelCount <= 50_000))
            throw new ArgumentOutOfRangeException(nameof(PixelCount), PixelCount, "Must lie between 500 and 50 000.");
    }
}
