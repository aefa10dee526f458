using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Takes the samples of a strip out of pictures of one region, bilinearly.</summary>
/// <remarks>
/// A sample whose neighbours lie outside the region is NaN. Where the strip runs along the rows of the picture but for a small angle, neighbouring
/// samples lie in neighbouring columns, so that eight are taken at once; a strip along the columns is taken from the transposed picture.
/// One object belongs to one thread.
/// </remarks>
internal sealed class StripSampler(StripGeometry strip, PixelRegion region)
{
    private const int Lanes = 8;

    // Stands for no change at all where one is divided by.
    private const double Least = 1e-12;

    private static readonly Vector256<float> LaneNumbers = Vector256.Create(0f, 1, 2, 3, 4, 5, 6, 7);

    private float[] _transposed = [];

    /// <summary>Number of samples: length times width, row by row along s.</summary>
    public int Count { get; } = strip.LengthPx * strip.WidthPx;

    /// <summary>Samples a picture of the region.</summary>
    /// <param name="picture">The picture, row by row.</param>
    /// <param name="placement">Where the strip lies in the coded picture.</param>
    /// <param name="samples">Receives the samples.</param>
    public void Sample(ReadOnlySpan<float> picture, in StripPlacement placement, Span<float> samples)
    {
        if (Math.Abs(placement.AlongX) >= Math.Abs(placement.AlongY))
        {
            SampleRows(picture, region.Width, region.Height, placement with { X = placement.X - region.X, Y = placement.Y - region.Y }, samples);
            return;
        }

        Transpose(picture);
        var turned = new StripPlacement(placement.Y - region.Y, placement.X - region.X, placement.AlongY, placement.AlongX,
            placement.AcrossY, placement.AcrossX);
        SampleRows(_transposed, region.Height, region.Width, turned, samples);
    }

    // In blocks, so that what is read and written stays in the cache.
    private void Transpose(ReadOnlySpan<float> picture)
    {
        const int block = 16;
        int width = region.Width, height = region.Height;
        if (_transposed.Length != width * height)
            _transposed = new float[width * height];
        for (int top = 0; top < height; top += block)
        {
            for (int left = 0; left < width; left += block)
            {
                int bottom = Math.Min(top + block, height), right = Math.Min(left + block, width);
                for (int x = left; x < right; x++)
                {
                    for (int y = top; y < bottom; y++)
                        _transposed[(x * height) + y] = picture[(y * width) + x];
                }
            }
        }
    }

    private void SampleRows(ReadOnlySpan<float> picture, int width, int height, in StripPlacement placement, Span<float> samples)
    {
        int length = strip.LengthPx;
        for (int j = 0; j < strip.WidthPx; j++)
        {
            double t = j - strip.HalfWidthPx;
            double x = placement.X + (t * placement.AcrossX), y = placement.Y + (t * placement.AcrossY);
            Span<float> row = samples.Slice(j * length, length);
            if (placement.AlongX >= 0)
            {
                SampleRow(picture, width, height, x, y, placement.AlongX, placement.AlongY, row);
                continue;
            }

            // From the other end, so that columns rise.
            double last = length - 1;
            SampleRow(picture, width, height, x + (last * placement.AlongX), y + (last * placement.AlongY), -placement.AlongX,
                -placement.AlongY, row);
            row.Reverse();
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void SampleRow(
        ReadOnlySpan<float> picture, int width, int height, double x0, double y0, double alongX, double alongY, Span<float> row)
    {
        Vector256<float> stepX = LaneNumbers * (float)(alongX - 1), stepY = LaneNumbers * (float)alongY;
        ref float target = ref MemoryMarshal.GetReference(row);
        int i = 0;
        while (i + Lanes <= row.Length)
        {
            // Eight samples of two rows and nine columns, if the path stays within these.
            double x = x0 + (i * alongX), y = y0 + (i * alongY);
            double endX = x + ((Lanes - 1) * alongX), endY = y + ((Lanes - 1) * alongY);
            int column = (int)x, line = (int)y;
            bool inside = x >= 0 && y >= 0 && endY >= 0 && endX < width - 1 && y < height - 1 && endY < height - 1;
            if (!inside || (int)endX != column + Lanes - 1 || (int)endY != line)
            {
                SampleOneByOne(picture, width, height, x, y, alongX, alongY, row.Slice(i, Lanes));
                i += Lanes;
                continue;
            }

            // And so on with the next eight, as long as the same two rows serve and the columns keep step.
            double untilLine = alongY >= 0 ? (line + 1 - endY) / Math.Max(alongY, Least) : (endY - line) / -alongY;
            double untilColumn = Math.Min(x - column, endX - (column + Lanes - 1)) / Math.Max(1 - alongX, Least);
            double untilBorder = width - 2 - endX, untilEnd = row.Length - i - Lanes;
            int blocks = (int)(Math.Min(Math.Min(untilLine, untilColumn), Math.Min(untilBorder, untilEnd)) / Lanes);
            int at = (line * width) + column;
            ref float above = ref MemoryMarshal.GetReference(picture.Slice(at, (blocks * Lanes) + Lanes + 1));
            ref float below = ref MemoryMarshal.GetReference(picture.Slice(at + width, (blocks * Lanes) + Lanes + 1));
            for (int last = i + (blocks * Lanes), k = 0; i <= last; i += Lanes, k += Lanes)
            {
                Vector256<float> fx = Vector256.Create((float)(x0 + (i * alongX) - (column + k))) + stepX;
                Vector256<float> fy = Vector256.Create((float)(y0 + (i * alongY) - line)) + stepY;
                Vector256<float> a = Vector256.LoadUnsafe(ref above, (nuint)k), b = Vector256.LoadUnsafe(ref below, (nuint)k);
                a += fx * (Vector256.LoadUnsafe(ref above, (nuint)k + 1) - a);
                b += fx * (Vector256.LoadUnsafe(ref below, (nuint)k + 1) - b);
                (a + (fy * (b - a))).StoreUnsafe(ref target, (nuint)i);
            }
        }

        SampleOneByOne(picture, width, height, x0 + (i * alongX), y0 + (i * alongY), alongX, alongY, row[i..]);
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void SampleOneByOne(
        ReadOnlySpan<float> picture, int width, int height, double x0, double y0, double alongX, double alongY, Span<float> row)
    {
        double right = width - 1, bottom = height - 1;
        for (int i = 0; i < row.Length; i++)
        {
            double x = x0 + (i * alongX), y = y0 + (i * alongY);

            // A hair outside is rounding; a hand's breadth is not.
            if (!(x >= -1e-6 && y >= -1e-6 && x <= right + 1e-6 && y <= bottom + 1e-6))
            {
                row[i] = float.NaN;
                continue;
            }

            // A place on the last column or row has no neighbour beyond; it is reached from the one before with fraction 1.
            int column = Math.Min((int)x, width - 2), line = Math.Min((int)y, height - 2);
            float fx = (float)(x - column), fy = (float)(y - line);
            int at = (line * width) + column;
            float above = picture[at] + (fx * (picture[at + 1] - picture[at]));
            float below = picture[at + width] + (fx * (picture[at + width + 1] - picture[at + width]));
            row[i] = above + (fy * (below - above));
        }
    }
}
