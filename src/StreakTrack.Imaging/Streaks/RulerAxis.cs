using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Streaks;

/// <summary>The line of the ruler in the displayed picture.</summary>
/// <param name="Origin">A point of the line.</param>
/// <param name="DirectionU">Part to the right of the unit vector toward increasing readings.</param>
/// <param name="DirectionV">Part downward of the unit vector toward increasing readings.</param>
public readonly record struct RulerAxis(PicturePoint Origin, double DirectionU, double DirectionV)
{
    /// <summary>The axis of a fitted scale.</summary>
    public static RulerAxis Of(RulerScale scale) => new(scale.AxisOrigin, scale.AxisDirection.UPx, scale.AxisDirection.VPx);
}
