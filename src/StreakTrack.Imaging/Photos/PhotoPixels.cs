using System.Runtime.InteropServices;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Advanced;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Photos;

/// <summary>The pixels of a photograph, to be had upright.</summary>
internal sealed class PhotoPixels : IDisposable
{
    private const int FullCode = ushort.MaxValue, MiddleCode = 1 << 15;

    // Luma of ITU-R BT.709, whose primaries sRGB shares; undone again where the frame is turned into light.
    private static readonly (double Kr, double Kb) Luma = ColourWeights.Luma(ColourMatrix.Bt709);

    private readonly IDisposable _image;
    private readonly Action<int, int, ushort[]> _readRow;
    private readonly DisplayOrientation _orientation;
    private readonly ushort[]? _linearToCode;

    private PhotoPixels(IDisposable image, Action<int, int, ushort[]> readRow, PhotoFacts facts)
    {
        (_image, _readRow, _orientation) = (image, readRow, facts.Orientation);
        _linearToCode = facts.IsLinear ? LinearToCode() : null;
    }

    /// <summary>How samples of the frames that <see cref="Fill"/> makes are coded.</summary>
    public static ColourDescription Colour { get; } = new(ColourMatrix.Bt709, FullRange: true, TransferFunction.Srgb, ChromaLeftSited: false, Assumed: false);

    /// <summary>Of pixels of 8 bits.</summary>
    public static PhotoPixels Of(Image<Rgb24> image, PhotoFacts facts) => new(image, (y, from, row) =>
    {
        Span<Rgb24> pixels = image.DangerousGetPixelRowMemory(y).Span[from..];
        int at = 0;
        foreach (Rgb24 p in pixels[..Math.Min(pixels.Length, row.Length / 3)])
        {
            row[at++] = (ushort)(257 * p.R);
            row[at++] = (ushort)(257 * p.G);
            row[at++] = (ushort)(257 * p.B);
        }
    }, facts);

    /// <summary>Of pixels of 16 bits.</summary>
    public static PhotoPixels Of(Image<Rgb48> image, PhotoFacts facts) => new(image, (y, from, row) =>
    {
        Span<Rgb48> pixels = image.DangerousGetPixelRowMemory(y).Span[from..];
        int at = 0;
        foreach (Rgb48 p in pixels[..Math.Min(pixels.Length, row.Length / 3)])
        {
            row[at++] = p.R;
            row[at++] = p.G;
            row[at++] = p.B;
        }
    }, facts);

    /// <inheritdoc/>
    public void Dispose() => _image.Dispose();

    /// <summary>Whether red, green and blue are equal everywhere.</summary>
    public bool IsGrey()
    {
        ushort[] row = new ushort[3 * _orientation.CodedWidth];
        for (int y = 0; y < _orientation.CodedHeight; y++)
        {
            _readRow(y, 0, row);
            for (int i = 0; i < row.Length; i += 3)
            {
                if (row[i] != row[i + 1] || row[i] != row[i + 2])
                    return false;
            }
        }

        return true;
    }

    /// <summary>A frame of a part of the upright picture; what lies outside the picture is black.</summary>
    /// <param name="frame">Receives it.</param>
    /// <param name="region">The part, in pixels of the first photograph's upright picture.</param>
    /// <param name="shiftU">How far this photograph shows the ruler to the right of there, in px.</param>
    /// <param name="shiftV">The same downward.</param>
    /// <param name="greyIsRed">Whether grey stands for red light alone: a picture without colours says of no light whose it is.</param>
    public void Fill(RawFrame frame, PixelRegion region, int shiftU, int shiftV, bool greyIsRed)
    {
        frame.Shape(region, PlaneLayout.Yuv444, 16);
        Span<ushort> luma = MemoryMarshal.Cast<byte, ushort>(frame.Plane0.AsSpan());
        Span<ushort> blue = MemoryMarshal.Cast<byte, ushort>(frame.Plane1.AsSpan()), red = MemoryMarshal.Cast<byte, ushort>(frame.Plane2.AsSpan());
        luma.Clear();
        blue.Fill(MiddleCode);
        red.Fill(MiddleCode);

        // The rectangle of the upright picture that is there, and where it lies as stored.
        int left = Math.Max(0, region.X + shiftU), top = Math.Max(0, region.Y + shiftV);
        int right = Math.Min(_orientation.DisplayWidth, region.X + shiftU + region.Width) - 1;
        int bottom = Math.Min(_orientation.DisplayHeight, region.Y + shiftV + region.Height) - 1;
        if (right < left || bottom < top)
            return;
        (double xa, double ya) = _orientation.ToCoded(new PicturePoint(left, top));
        (double xb, double yb) = _orientation.ToCoded(new PicturePoint(right, bottom));
        int fromX = (int)Math.Min(xa, xb), toX = (int)Math.Max(xa, xb), fromY = (int)Math.Min(ya, yb), toY = (int)Math.Max(ya, yb);
        ushort[] row = new ushort[3 * (toX - fromX + 1)];
        int alongRow = _orientation.XX + (_orientation.YX * region.Width);
        (double kr, double kb) = Luma;
        double perBlue = 0.5 / (1 - kb), perRed = 0.5 / (1 - kr);
        for (int y = fromY; y <= toY; y++)
        {
            _readRow(y, fromX, row);
            if (_linearToCode is not null)
            {
                for (int i = 0; i < row.Length; i++)
                    row[i] = _linearToCode[row[i]];
            }

            PicturePoint start = _orientation.ToDisplay(fromX, y);
            int at = (((int)start.VPx - shiftV - region.Y) * region.Width) + (int)start.UPx - shiftU - region.X;
            for (int i = 0; i < row.Length; i += 3, at += alongRow)
            {
                double r = row[i], g = greyIsRed ? 0 : row[i + 1], b = greyIsRed ? 0 : row[i + 2];
                double y0 = (kr * r) + ((1 - kr - kb) * g) + (kb * b);
                luma[at] = (ushort)(y0 + 0.5);
                blue[at] = (ushort)Math.Min(((b - y0) * perBlue) + MiddleCode + 0.5, FullCode);
                red[at] = (ushort)Math.Min(((r - y0) * perRed) + MiddleCode + 0.5, FullCode);
            }
        }
    }

    /// <summary>The upright picture's brightness, averaged down in square blocks.</summary>
    /// <param name="block">Side of a block, in px.</param>
    /// <param name="width">Receives the columns.</param>
    /// <param name="height">Receives the rows.</param>
    public float[] Averaged(int block, out int width, out int height)
    {
        (width, height) = (_orientation.DisplayWidth / block, _orientation.DisplayHeight / block);
        float[] sums = new float[width * height];
        ushort[] row = new ushort[3 * _orientation.CodedWidth];
        for (int y = 0; y < _orientation.CodedHeight; y++)
        {
            _readRow(y, 0, row);
            PicturePoint start = _orientation.ToDisplay(0, y);
            int u = (int)start.UPx, v = (int)start.VPx;
            for (int i = 0; i < row.Length; i += 3, u += _orientation.XX, v += _orientation.YX)
            {
                int column = u / block, line = v / block;
                if (column < width && line < height)
                    sums[(line * width) + column] += row[i] + row[i + 1] + row[i + 2];
            }
        }

        return sums;
    }

    // IEC 61966-2-1, from light to code; the table's inverse stands in TransferCurve.
    private static ushort[] LinearToCode()
    {
        ushort[] table = new ushort[FullCode + 1];
        for (int i = 0; i < table.Length; i++)
        {
            double light = i / (double)FullCode;
            double code = light <= 0.0031308 ? 12.92 * light : (1.055 * Math.Pow(light, 1 / 2.4)) - 0.055;
            table[i] = (ushort)Math.Round(FullCode * code);
        }

        return table;
    }
}
