using System.Numerics;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Keeps a few frames, evenly spread over a clip of unknown length, and makes pictures of them.</summary>
internal sealed class PictureKeeper(int count)
{
    private readonly List<(RawFrame Frame, RulerMotion? Motion)> _kept = [];
    private int _stride = 1;
    private int _seen;

    /// <summary>Looks at the next frame and copies it if its turn has come.</summary>
    public void Offer(RawFrame frame, RulerMotion? motion)
    {
        int index = _seen++;
        if (count == 0 || index % _stride != 0)
            return;
        if (_kept.Count == 2 * count)
        {
            for (int k = 0; k < count; k++)
                _kept[k] = _kept[2 * k];
            _kept.RemoveRange(count, count);
            _stride *= 2;
            if (index % _stride != 0)
                return;
        }

        var copy = new RawFrame
        {
            Index = index,
            TimeSeconds = frame.TimeSeconds,
            Region = frame.Region,
            Layout = frame.Layout,
            BitDepth = frame.BitDepth,
            Plane0 = [.. frame.Plane0],
            Plane1 = [.. frame.Plane1],
            Plane2 = [.. frame.Plane2],
        };
        _kept.Add((copy, motion));
    }

    /// <summary>Makes the pictures.</summary>
    /// <param name="orientation">How the clip is turned for display.</param>
    /// <param name="colour">How its samples are coded.</param>
    public IReadOnlyList<StreakPicture> Develop(DisplayOrientation orientation, ColourDescription colour)
    {
        int wanted = Math.Min(count, _kept.Count);
        var pictures = new StreakPicture[wanted];
        Parallel.For(0, wanted, k =>
            pictures[k] = Develop(_kept[wanted == 1 ? 0 : k * (_kept.Count - 1) / (wanted - 1)], orientation, colour));
        return pictures;
    }

    /// <summary>Makes a picture of one frame.</summary>
    public static StreakPicture Develop(
        (RawFrame Frame, RulerMotion? Motion) kept, DisplayOrientation orientation, ColourDescription colour)
    {
        (RawFrame frame, RulerMotion? motion) = kept;
        PixelRegion region = frame.Region;
        PicturePoint a = orientation.ToDisplay(region.X, region.Y);
        PicturePoint b = orientation.ToDisplay(region.X + region.Width - 1, region.Y + region.Height - 1);
        double left = Math.Min(a.UPx, b.UPx), top = Math.Min(a.VPx, b.VPx);
        Image<Rgb24> picture = FramePicture.ToImage(frame, colour, orientation, int.MaxValue);
        Matrix3x2 toPicture = Matrix3x2.CreateTranslation(-(float)left, -(float)top);
        return new StreakPicture(frame.Index, picture, motion is RulerMotion moved ? MatrixOf(moved) * toPicture : toPicture);
    }

    // From the first frame, to which all places belong, to this one.
    private static Matrix3x2 MatrixOf(in RulerMotion motion)
    {
        PicturePoint at0 = motion.ToFrame(new PicturePoint(0, 0)), atU = motion.ToFrame(new PicturePoint(1, 0));
        PicturePoint atV = motion.ToFrame(new PicturePoint(0, 1));
        return new Matrix3x2(
            (float)(atU.UPx - at0.UPx), (float)(atU.VPx - at0.VPx), (float)(atV.UPx - at0.UPx), (float)(atV.VPx - at0.VPx),
            (float)at0.UPx, (float)at0.VPx);
    }
}
