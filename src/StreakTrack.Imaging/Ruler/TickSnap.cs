using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Ruler;

/// <summary>A point moved onto the tick near it.</summary>
/// <param name="Point">The point on the tick's middle line; moved along the ruler only.</param>
/// <param name="UncertaintyPx">Standard uncertainty of its place along the ruler, in px, from the scatter of the pixels about the fitted line.</param>
/// <param name="Contrast">Darkness of the tick's middle as a share of its surroundings; negative for a bright tick.</param>
/// <param name="AlongRuler">Unit vector along the ruler that was used, in px.</param>
public sealed record TickSnap(PicturePoint Point, double UncertaintyPx, double Contrast, PicturePoint AlongRuler);
