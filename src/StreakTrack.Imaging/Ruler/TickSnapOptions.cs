using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Ruler;

/// <summary>How a mark is snapped to the tick near it.</summary>
public sealed record TickSnapOptions
{
    /// <summary>How far along the ruler a tick may lie from the point, in px. From 1 to 50; 8 by default.</summary>
    public double ReachPx { get; init; } = 8;

    /// <summary>Direction along the ruler, as a vector in px of any length, where it is known (the line through other marks); null (the default)
    /// to take it from the picture: across the lines around the point.</summary>
    public PicturePoint? AlongRuler { get; init; }

    internal void Validate()
    {
        if (!(ReachPx >= 1 && ReachPx <= 50))
            throw new ArgumentOutOfRangeException(nameof(ReachPx), ReachPx, "Must lie between 1 and 50 px.");
        if (AlongRuler is { } d && !(d.UPx * d.UPx + d.VPx * d.VPx > 0 && double.IsFinite(d.UPx * d.UPx + d.VPx * d.VPx)))
            throw new ArgumentOutOfRangeException(nameof(AlongRuler), d, "Must be a direction.");
    }
}
