namespace StreakTrack.Core.Scale;

/// <summary>A point on a ruler tick whose reading is known.</summary>
/// <param name="Point">Where the tick was marked.</param>
/// <param name="ReadingMm">The tick's reading, in mm.</param>
public sealed record RulerMark(PicturePoint Point, double ReadingMm);
