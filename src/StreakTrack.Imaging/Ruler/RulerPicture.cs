using System.Runtime.CompilerServices;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Ruler;

/// <summary>Brightness of a rectangle of the picture as displayed, for finding ticks and following the ruler. Linear light and coded brightness
/// (luma) both serve: only where lines lie matters, not how dark they are.</summary>
public sealed class RulerPicture
{
    private readonly float[] _samples;

    /// <summary>Wraps samples without copying them.</summary>
    /// <param name="samples">Brightness row by row, at least <paramref name="width"/> times <paramref name="height"/> of them, in any unit.</param>
    /// <param name="width">Columns, at least 2.</param>
    /// <param name="height">Rows, at least 2.</param>
    /// <param name="offsetU">Column of the displayed picture that the first sample of a row belongs to.</param>
    /// <param name="offsetV">Row of the displayed picture that the first row belongs to.</param>
    /// <exception cref="ArgumentException">The numbers do not fit together.</exception>
    public RulerPicture(float[] samples, int width, int height, int offsetU = 0, int offsetV = 0)
    {
        ArgumentNullException.ThrowIfNull(samples);
        if (!(width >= 2 && height >= 2 && (long)width * height <= samples.Length))
            throw new ArgumentException($"{samples.Length} samples are not a picture of {width} by {height}.", nameof(samples));
        _samples = samples;
        (Width, Height, OffsetU, OffsetV) = (width, height, offsetU, offsetV);
    }

    /// <summary>Columns.</summary>
    public int Width { get; }

    /// <summary>Rows.</summary>
    public int Height { get; }

    /// <summary>Column of the displayed picture of the first sample of a row.</summary>
    public int OffsetU { get; }

    /// <summary>Row of the displayed picture of the first row.</summary>
    public int OffsetV { get; }

    /// <summary>The coded brightness of a decoded frame, turned for display.</summary>
    /// <param name="frame">The frame, or a region of it.</param>
    /// <param name="orientation">The clip's orientation.</param>
    /// <param name="reuse">A buffer to fill instead of a new one, where it is long enough; a picture made with it before then changes.</param>
    public static RulerPicture FromFrame(RawFrame frame, DisplayOrientation orientation, float[]? reuse = null)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(orientation);
        var (width, height, offsetU, offsetV) = Shown(frame.Region, orientation);
        float[] samples = reuse is not null && reuse.Length >= width * height ? reuse : new float[width * height];
        float[] row = new float[frame.Region.Width];
        for (int y = 0; y < frame.Region.Height; y++)
        {
            (int at, int alongRow) = RowOf(frame.Region, y, orientation);
            ReadRow(frame, y, row);
            for (int x = 0; x < row.Length; x++, at += alongRow)
                samples[at] = row[x];
        }

        return new RulerPicture(samples, width, height, offsetU, offsetV);
    }

    // The rectangle of the displayed picture that a region of the coded one becomes.
    private static (int Width, int Height, int OffsetU, int OffsetV) Shown(in PixelRegion region, DisplayOrientation orientation)
    {
        (int width, int height) = orientation.SwapsAxes ? (region.Height, region.Width) : (region.Width, region.Height);
        PicturePoint first = orientation.ToDisplay(region.X, region.Y);
        PicturePoint last = orientation.ToDisplay(region.X + region.Width - 1, region.Y + region.Height - 1);
        return (width, height, (int)Math.Min(first.UPx, last.UPx), (int)Math.Min(first.VPx, last.VPx));
    }

    // Where a coded row begins among the samples, and how far apart its samples lie: walking along it moves by a fixed amount.
    private static (int At, int AlongRow) RowOf(in PixelRegion region, int y, DisplayOrientation orientation)
    {
        var (width, _, offsetU, offsetV) = Shown(region, orientation);
        PicturePoint start = orientation.ToDisplay(region.X, region.Y + y);
        return (((int)start.VPx - offsetV) * width + (int)start.UPx - offsetU, orientation.XX + orientation.YX * width);
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void ReadRow(RawFrame frame, int y, Span<float> row)
    {
        int bytes = frame.Layout == PlaneLayout.Bgr24 ? 3 : frame.BitDepth > 8 ? 2 : 1;
        ReadOnlySpan<byte> samples = frame.Plane0.AsSpan(y * row.Length * bytes, row.Length * bytes);
        if (frame.Layout == PlaneLayout.Bgr24)
        {
            // The luma weights of ITU-R BT.709; for finding lines any weights would do.
            for (int x = 0; x < row.Length; x++)
                row[x] = 0.0722f * samples[3 * x] + 0.7152f * samples[3 * x + 1] + 0.2126f * samples[3 * x + 2];
        }
        else if (bytes == 2)
        {
            for (int x = 0; x < row.Length; x++)
                row[x] = samples[2 * x] | samples[2 * x + 1] << 8;
        }
        else
        {
            for (int x = 0; x < row.Length; x++)
                row[x] = samples[x];
        }
    }

    /// <summary>Whether a point has four neighbouring samples around it.</summary>
    public bool Contains(double u, double v) =>
        u >= OffsetU && v >= OffsetV && u <= OffsetU + Width - 1 && v <= OffsetV + Height - 1;

    /// <summary>Brightness at a point of the displayed picture, bilinear between samples; NaN outside.</summary>
    public double At(double u, double v)
    {
        if (!Contains(u, v))
            return double.NaN;
        double x = u - OffsetU, y = v - OffsetV;
        int column = Math.Min((int)x, Width - 2), row = Math.Min((int)y, Height - 2);
        double fx = x - column, fy = y - row;
        int at = row * Width + column;
        double top = _samples[at] + fx * (_samples[at + 1] - _samples[at]);
        double bottom = _samples[at + Width] + fx * (_samples[at + Width + 1] - _samples[at + Width]);
        return top + fy * (bottom - top);
    }

    /// <summary>Brightness at a point by cubic convolution (R. G. Keys, IEEE Trans. Acoust. Speech Signal Process. 29 (1981) 1153, a = -1/2, from
    /// memory), which blurs fine lines far less than a bilinear one; NaN nearer than a pixel to the border.</summary>
    internal double CubicAt(double u, double v)
    {
        double x = u - OffsetU, y = v - OffsetV;
        if (!(x >= 1 && y >= 1 && x < Width - 2 && y < Height - 2))
            return double.NaN;
        int column = (int)x, row = (int)y;
        double fx = x - column, fy = y - row;
        double x0 = fx * (-0.5 + fx * (1 - 0.5 * fx)), x1 = 1 + fx * fx * (-2.5 + 1.5 * fx);
        double x2 = fx * (0.5 + fx * (2 - 1.5 * fx)), x3 = fx * fx * (-0.5 + 0.5 * fx);
        double y0 = fy * (-0.5 + fy * (1 - 0.5 * fy)), y1 = 1 + fy * fy * (-2.5 + 1.5 * fy);
        double y2 = fy * (0.5 + fy * (2 - 1.5 * fy)), y3 = fy * fy * (-0.5 + 0.5 * fy);
        int at = (row - 1) * Width + column - 1;
        double Row(int i) => x0 * _samples[i] + x1 * _samples[i + 1] + x2 * _samples[i + 2] + x3 * _samples[i + 3];
        return y0 * Row(at) + y1 * Row(at + Width) + y2 * Row(at + 2 * Width) + y3 * Row(at + 3 * Width);
    }

    /// <summary>Whether a pixel of the displayed picture lies inside.</summary>
    internal bool Holds(int u, int v) => u >= OffsetU && v >= OffsetV && u < OffsetU + Width && v < OffsetV + Height;

    /// <summary>Brightness row by row.</summary>
    internal ReadOnlySpan<float> Samples => _samples.AsSpan(0, Width * Height);

    /// <summary>The sample of a pixel of the displayed picture, which must lie inside.</summary>
    internal float this[int u, int v] => _samples[(v - OffsetV) * Width + (u - OffsetU)];

    /// <summary>The usual coded brightness over several frames, turned for display: what stays when a streak shrinks or people walk by. Each
    /// sample is the mean of the middle half of its values, which keeps more of the finer steps of faint pictures than a median. For clips
    /// in which the camera stands still.</summary>
    /// <param name="frames">One or more frames of the same region.</param>
    /// <param name="orientation">The clip's orientation.</param>
    /// <exception cref="ArgumentException">There are none, or their regions differ.</exception>
    public static RulerPicture UsualOf(IReadOnlyList<RawFrame> frames, DisplayOrientation orientation)
    {
        ArgumentNullException.ThrowIfNull(frames);
        ArgumentNullException.ThrowIfNull(orientation);
        if (frames.Count == 0)
            throw new ArgumentException("There are no frames.", nameof(frames));
        PixelRegion region = frames[0].Region;
        if (frames.Any(f => f.Region != region))
            throw new ArgumentException("The frames differ in their region.", nameof(frames));
        var (width, height, offsetU, offsetV) = Shown(region, orientation);
        float[] samples = new float[width * height];
        RawFrame[] seen = [.. frames];

        // Row by row, so that no picture of each frame is needed beside the frame.
        Parallel.For(0, region.Height, () => new float[seen.Length * region.Width], (y, _, rows) =>
        {
            for (int k = 0; k < seen.Length; k++)
                ReadRow(seen[k], y, rows.AsSpan(k * region.Width, region.Width));
            (int at, int alongRow) = RowOf(region, y, orientation);
            MeanOfMiddleHalf(rows, seen.Length, samples, at, alongRow);
            return rows;
        }, _ => { });
        return new RulerPicture(samples, width, height, offsetU, offsetV);
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void MeanOfMiddleHalf(ReadOnlySpan<float> rows, int count, Span<float> samples, int at, int alongRow)
    {
        int width = rows.Length / count, cut = count / 4;
        Span<float> values = stackalloc float[count];
        for (int x = 0; x < width; x++, at += alongRow)
        {
            // Sorted by insertion: there are a dozen values at most.
            for (int k = 0; k < count; k++)
            {
                float value = rows[k * width + x];
                int place = k;
                for (; place > 0 && values[place - 1] > value; place--)
                    values[place] = values[place - 1];
                values[place] = value;
            }

            float sum = 0;
            for (int k = cut; k < count - cut; k++)
                sum += values[k];
            samples[at] = sum / (count - 2 * cut);
        }
    }
}
