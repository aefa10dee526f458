using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Advanced;
using SixLabors.ImageSharp.PixelFormats;

namespace StreakTrack.Imaging.Clips;

/// <summary>Makes pictures for people from decoded frames.</summary>
public static class FramePicture
{
    /// <summary>A picture of a frame, turned for display and gamma-coded as the clip is (HLG is shown as it is, somewhat flat).</summary>
    /// <param name="frame">The frame, or a region of it, which then fills the picture.</param>
    /// <param name="colour">How its samples are coded.</param>
    /// <param name="orientation">How the clip is turned for display.</param>
    /// <param name="maxWidth">Largest width of the result, in px, at least 1; a larger frame is averaged down, keeping its proportions.</param>
    public static Image<Rgb24> ToImage(RawFrame frame, ColourDescription colour, DisplayOrientation orientation, int maxWidth)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(maxWidth, 1);
        int codedWidth = frame.Region.Width, codedHeight = frame.Region.Height;
        DisplayOrientation turn = orientation with { CodedWidth = codedWidth, CodedHeight = codedHeight };
        int displayWidth = turn.DisplayWidth, displayHeight = turn.DisplayHeight;
        int width = Math.Min(displayWidth, maxWidth);
        int height = Math.Max(1, (int)Math.Round(displayHeight * (double)width / displayWidth));

        var image = new Image<Rgb24>(width, height);
        var pixels = new CodedPixels(frame, colour);
        if (width == displayWidth && frame.Layout != PlaneLayout.Bgr24)
        {
            for (int v = 0; v < height; v++)
                pixels.FillRow(turn, v, image.DangerousGetPixelRowMemory(v).Span);
            return image;
        }

        for (int v = 0; v < height; v++)
        {
            Span<Rgb24> row = image.DangerousGetPixelRowMemory(v).Span;
            int top = (int)((long)v * displayHeight / height);
            int bottom = Math.Max(top + 1, (int)((v + 1L) * displayHeight / height));
            for (int u = 0; u < width; u++)
            {
                int left = (int)((long)u * displayWidth / width);
                int right = Math.Max(left + 1, (int)((u + 1L) * displayWidth / width));

                // Opposite corners of the block of displayed pixels, in the coded picture.
                (double x0, double y0) = turn.ToCoded(new Core.Scale.PicturePoint(left, top));
                (double x1, double y1) = turn.ToCoded(new Core.Scale.PicturePoint(right - 1, bottom - 1));
                row[u] = pixels.Average((int)Math.Min(x0, x1), (int)Math.Min(y0, y1), (int)Math.Max(x0, x1), (int)Math.Max(y0, y1));
            }
        }

        return image;
    }

    // Colour samples are taken from the nearest place: half a pixel matters for measuring, not for looking.
    private readonly struct CodedPixels
    {
        private readonly RawFrame _frame;
        private readonly double _black, _middle, _perLuma, _perColour;
        private readonly (double Y, double Cb, double Cr)[] _decoding;
        private readonly (double R, double G, double B, double Offset)[] _repair;
        private readonly int _shiftX;
        private readonly int _shiftY;
        private readonly int _chromaWidth;

        public CodedPixels(RawFrame frame, ColourDescription colour)
        {
            LightChannel[] channels = [LightChannel.Red, LightChannel.Green, LightChannel.Blue];
            _frame = frame;
            double scale = 1 << (frame.BitDepth - 8);
            (_black, _middle) = (colour.FullRange ? 0 : 16 * scale, 128 * scale);
            _perLuma = 1 / (colour.FullRange ? (256 * scale) - 1 : 219 * scale);
            _perColour = 1 / (colour.FullRange ? (256 * scale) - 1 : 224 * scale);
            _decoding = Array.ConvertAll(channels, c => ColourWeights.Decoding(colour.Matrix, c));
            _repair = Array.ConvertAll(channels, c => ColourWeights.Repair(colour.Matrix, colour.FullRange, c));
            _shiftX = frame.Layout is PlaneLayout.Yuv420 or PlaneLayout.Yuv422 ? 1 : 0;
            _shiftY = frame.Layout == PlaneLayout.Yuv420 ? 1 : 0;
            _chromaWidth = (frame.Region.Width + _shiftX) >> _shiftX;
        }

        public Rgb24 Average(int left, int top, int right, int bottom)
        {
            bool bgr = _frame.Layout == PlaneLayout.Bgr24, coloured = _frame.Plane1.Length > 0;
            long first = 0, second = 0, third = 0;
            int width = _frame.Region.Width;
            for (int y = top; y <= bottom; y++)
            {
                for (int x = left; x <= right; x++)
                {
                    int at = (y * width) + x;
                    if (bgr)
                    {
                        first += _frame.Plane0[3 * at];
                        second += _frame.Plane0[(3 * at) + 1];
                        third += _frame.Plane0[(3 * at) + 2];
                        continue;
                    }

                    first += Sample(_frame.Plane0, at);
                    if (coloured)
                    {
                        int chroma = ((y >> _shiftY) * _chromaWidth) + (x >> _shiftX);
                        second += Sample(_frame.Plane1, chroma);
                        third += Sample(_frame.Plane2, chroma);
                    }
                }
            }

            double count = (right - left + 1.0) * (bottom - top + 1);
            return bgr
                ? FromBgr(first / count / 255, second / count / 255, third / count / 255)
                : FromPlanes(first / count, second / count, third / count, coloured);
        }

        /// <summary>Fills one displayed row, pixel by pixel: what <see cref="Average"/> gives for single ones, but sooner.</summary>
        public void FillRow(DisplayOrientation turn, int v, Span<Rgb24> row)
        {
            (double x0, double y0) = turn.ToCoded(new Core.Scale.PicturePoint(0, v));
            (double x1, double y1) = turn.ToCoded(new Core.Scale.PicturePoint(1, v));
            int x = (int)x0, y = (int)y0, stepX = (int)(x1 - x0), stepY = (int)(y1 - y0);
            bool coloured = _frame.Plane1.Length > 0;
            for (int u = 0; u < row.Length; u++, x += stepX, y += stepY)
            {
                int chroma = ((y >> _shiftY) * _chromaWidth) + (x >> _shiftX);
                row[u] = FromPlanes(Sample(_frame.Plane0, (y * _frame.Region.Width) + x), coloured ? Sample(_frame.Plane1, chroma) : 0,
                    coloured ? Sample(_frame.Plane2, chroma) : 0, coloured);
            }
        }

        private int Sample(byte[] plane, int at) => _frame.BitDepth > 8 ? plane[2 * at] | (plane[(2 * at) + 1] << 8) : plane[at];

        private Rgb24 FromBgr(double blue, double green, double red)
        {
            (double R, double G, double B, double Offset)[] repair = _repair;
            return new Rgb24(Channel(0), Channel(1), Channel(2));
            byte Channel(int i) => ToByte((repair[i].R * red) + (repair[i].G * green) + (repair[i].B * blue) + repair[i].Offset);
        }

        private Rgb24 FromPlanes(double luma, double first, double second, bool coloured)
        {
            double y = (luma - _black) * _perLuma, cb = coloured ? (first - _middle) * _perColour : 0;
            double cr = coloured ? (second - _middle) * _perColour : 0;
            (double Y, double Cb, double Cr) r = _decoding[0], g = _decoding[1], b = _decoding[2];
            return new Rgb24(
                ToByte((r.Y * y) + (r.Cb * cb) + (r.Cr * cr)), ToByte((g.Y * y) + (g.Cb * cb) + (g.Cr * cr)),
                ToByte((b.Y * y) + (b.Cb * cb) + (b.Cr * cr)));
        }

        private static byte ToByte(double code) => (byte)Math.Clamp(Math.Round(255 * code), 0, 255);
    }
}
