namespace StreakTrack.Imaging.Streaks;

/// <summary>Where a strip lies in the coded picture of one frame: place (s, t) is at (X, Y) + s (AlongX, AlongY) + t (AcrossX,
/// AcrossY), in px.</summary>
internal readonly record struct StripPlacement(double X, double Y, double AlongX, double AlongY, double AcrossX, double AcrossY);
