namespace StreakTrack.Core.Scale;

/// <summary>A point of the picture as displayed, after the clip's rotation tag.</summary>
/// <param name="UPx">Pixels to the right; the centre of the top left pixel is 0.</param>
/// <param name="VPx">Pixels downward; the centre of the top left pixel is 0.</param>
public readonly record struct PicturePoint(double UPx, double VPx);
