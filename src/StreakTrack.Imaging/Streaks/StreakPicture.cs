using System.Numerics;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;

namespace StreakTrack.Imaging.Streaks;

/// <summary>A small picture of the band in one frame, for the eye.</summary>
/// <param name="Frame">Position of the frame in the clip, from 0.</param>
/// <param name="Picture">The picture as displayed, after the rotation tag; it is only to be read.</param>
/// <param name="DisplayToPicture">In a clip whose ruler moves, points belong to the first frame and are carried along with the ruler.
/// Takes points (u, v) of the whole displayed picture to pixels (x, y) of <paramref name="Picture"/>;
/// in both, whole
/// numbers are pixel centres.</param>
public sealed record StreakPicture(int Frame, Image<Rgb24> Picture, Matrix3x2 DisplayToPicture);
