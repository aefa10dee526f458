namespace StreakTrack.Core.Scale;

/// <summary>A point on a ruler tick whose reading is known.</summary>
/// <param name="Point">Where the tick was marked.</param>
/// <param name="ReadingMm">The tick's reading, in mm.</param>
public sealed record RulerMark(PicturePoint Point, double ReadingMm)
{
    /// <summary>Standard uncertainty of the mark's place along the ruler, in px, where it is known (a tick found in the picture); null for a
    /// mark set by hand, whose scatter is estimated from the residuals or assumed. Above 0.</summary>
    public double? StandardUncertaintyPx { get; init; }
}
