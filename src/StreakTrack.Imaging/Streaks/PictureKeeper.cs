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
        float[][] planes = new float[3][];
        LightChannel[] channels = [LightChannel.Red, LightChannel.Green, LightChannel.Blue];
        for (int c = 0; c < 3; c++)
        {
            planes[c] = new float[region.Width * region.Height];
            new LinearLight(colour, channels[c]).Convert(frame, planes[c]);
        }

        PicturePoint a = orientation.ToDisplay(region.X, region.Y);
        PicturePoint b = orientation.ToDisplay(region.X + region.Width - 1, region.Y + region.Height - 1);
        double left = Math.Min(a.UPx, b.UPx), top = Math.Min(a.VPx, b.VPx);
        bool swaps = orientation.SwapsAxes;
        var picture = new Image<Rgb24>(swaps ? region.Height : region.Width, swaps ? region.Width : region.Height);

        // ITU-R BT.2408 puts the white of a page at 75 % of an HLG signal, that is 0.265 of its light.
        float exposure = colour.Transfer == TransferFunction.Hlg ? 1 / 0.265f : 1;
        for (int y = 0; y < region.Height; y++)
        {
            for (int x = 0; x < region.Width; x++)
            {
                PicturePoint p = orientation.ToDisplay(region.X + x, region.Y + y);
                int at = (y * region.Width) + x;
                picture[(int)Math.Round(p.UPx - left), (int)Math.Round(p.VPx - top)] =
                    new Rgb24(Code(exposure * planes[0][at]), Code(exposure * planes[1][at]), Code(exposure * planes[2][at]));
            }
        }

        return new StreakPicture(frame.Index, picture, Matrix3x2.CreateTranslation(-(float)left, -(float)top));
    }

    // IEC 61966-2-1.
    private static byte Code(float light)
    {
        double v = Math.Clamp(light, 0, 1);
        double code = v <= 0.0031308 ? 12.92 * v : (1.055 * Math.Pow(v, 1 / 2.4)) - 0.055;
        return (byte)Math.Round(255 * code);
    }
}
