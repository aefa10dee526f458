using System.Numerics;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Keeps a few frames, evenly spread over a clip of unknown length, and makes pictures of them.</summary>
internal sealed class PictureKeeper(int count)
{
    private readonly List<RawFrame> _kept = [];
    private int _stride = 1;
    private int _seen;

    /// <summary>Looks at the next frame and copies it if its turn has come.</summary>
    public void Offer(RawFrame frame)
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

        _kept.Add(new RawFrame
        {
            Index = index,
            TimeSeconds = frame.TimeSeconds,
            Region = frame.Region,
            Layout = frame.Layout,
            BitDepth = frame.BitDepth,
            Plane0 = [.. frame.Plane0],
            Plane1 = [.. frame.Plane1],
            Plane2 = [.. frame.Plane2],
        });
    }

    /// <summary>Makes the pictures.</summary>
    /// <param name="orientation">How the clip is turned for display.</param>
    /// <param name="colour">How its samples are coded.</param>
    public IReadOnlyList<StreakPicture> Develop(DisplayOrientation orientation, ColourDescription colour)
    {
        var pictures = new List<StreakPicture>();
        int wanted = Math.Min(count, _kept.Count);
        for (int k = 0; k < wanted; k++)
            pictures.Add(Develop(_kept[wanted == 1 ? 0 : k * (_kept.Count - 1) / (wanted - 1)], orientation, colour));
        return pictures;
    }

    private static StreakPicture Develop(RawFrame frame, DisplayOrientation orientation, ColourDescription colour)
    {
        PixelRegion region = frame.Region;
        PicturePoint a = orientation.ToDisplay(region.X, region.Y);
        PicturePoint b = orientation.ToDisplay(region.X + region.Width - 1, region.Y + region.Height - 1);
        double left = Math.Min(a.UPx, b.UPx), top = Math.Min(a.VPx, b.VPx);
        Image<Rgb24> picture = FramePicture.ToImage(frame, colour, orientation, int.MaxValue);
        return new StreakPicture(frame.Index, picture, Matrix3x2.CreateTranslation(-(float)left, -(float)top));
    }
}
