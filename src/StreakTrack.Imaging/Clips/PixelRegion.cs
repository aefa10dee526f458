namespace StreakTrack.Imaging.Clips;

/// <summary>A rectangle of whole pixels in the coded picture: the picture as stored, before the rotation tag is applied.</summary>
/// <param name="X">Left column, from 0.</param>
/// <param name="Y">Top row, from 0.</param>
/// <param name="Width">Columns, at least 1.</param>
/// <param name="Height">Rows, at least 1.</param>
public readonly record struct PixelRegion(int X, int Y, int Width, int Height);
