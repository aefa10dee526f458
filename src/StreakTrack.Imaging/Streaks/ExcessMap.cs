using System.Runtime.CompilerServices;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>How much each primary exceeds the mean of the other two over a wide strip, coarsely sampled: a laser's light does, a white
/// or grey
/// ruler with its ticks does not, whatever moves.</summary>
internal sealed class ExcessMap
{
    /// <summary>Distance of neighbouring samples, in px.</summary>
    public const int Stride = 2;

    private ExcessMap(int columns, int rows, int halfWidthPx)
    {
        Columns = columns;
        Rows = rows;
        HalfWidthPx = halfWidthPx;
        for (int c = 0; c < 3; c++)
        {
            Least[c] = new float[columns * rows];
            Change[c] = new float[columns * rows];
            Array.Fill(Least[c], float.MaxValue);
            Array.Fill(Change[c], float.MinValue);
        }
    }

    /// <summary>Samples along the strip.</summary>
    public int Columns { get; }

    /// <summary>Samples across the strip.</summary>
    public int Rows { get; }

    /// <summary>Half width of the strip, in px.</summary>
    public int HalfWidthPx { get; }

    /// <summary>Least excess over the frames, for red, green, blue; NaN outside the picture.</summary>
    public float[][] Least { get; } = new float[3][];

    /// <summary>Largest less least excess over the frames.</summary>
    public float[][] Change { get; } = new float[3][];

    /// <summary>Samples frames.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public static ExcessMap Of(FrameSample sample, StripGeometry strip)
    {
        IReadOnlyList<RawFrame> frames = sample.Frames;
        PixelRegion region = frames[0].Region;
        var map = new ExcessMap((strip.LengthPx + Stride - 1) / Stride, (strip.WidthPx + Stride - 1) / Stride, strip.HalfWidthPx);
        int[] at = new int[map.Columns * map.Rows];
        for (int j = 0; j < map.Rows; j++)
        {
            for (int i = 0; i < map.Columns; i++)
            {
                (double x, double y) = strip.ToCoded(i * Stride, (j * Stride) - strip.HalfWidthPx);
                int column = (int)Math.Round(x) - region.X, row = (int)Math.Round(y) - region.Y;
                bool inside = column >= 0 && row >= 0 && column < region.Width && row < region.Height;
                at[(j * map.Columns) + i] = inside ? (row * region.Width) + column : -1;
            }
        }

        var converters = new LinearLight[]
        {
            new(sample.Colour, LightChannel.Red), new(sample.Colour, LightChannel.Green), new(sample.Colour, LightChannel.Blue),
        };
        float[][] planes = [.. Enumerable.Range(0, 3).Select(_ => new float[region.Width * region.Height])];
        foreach (RawFrame frame in frames)
        {
            Parallel.For(0, 3, c => converters[c].Convert(frame, planes[c]));
            Parallel.For(0, map.Rows, j => map.AddRow(j, at, planes));
        }

        for (int c = 0; c < 3; c++)
        {
            for (int k = 0; k < at.Length; k++)
            {
                map.Change[c][k] = at[k] < 0 ? float.NaN : map.Change[c][k] - map.Least[c][k];
                map.Least[c][k] = at[k] < 0 ? float.NaN : map.Least[c][k];
            }
        }

        return map;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void AddRow(int row, int[] at, float[][] planes)
    {
        for (int k = row * Columns; k < (row + 1) * Columns; k++)
        {
            if (at[k] < 0)
                continue;
            float r = planes[0][at[k]], g = planes[1][at[k]], b = planes[2][at[k]];
            Add(0, k, r - (0.5f * (g + b)));
            Add(1, k, g - (0.5f * (r + b)));
            Add(2, k, b - (0.5f * (r + g)));
        }
    }

    // Until the end of the sampling, Change holds the largest value.
    private void Add(int channel, int sample, float excess)
    {
        Least[channel][sample] = Math.Min(Least[channel][sample], excess);
        Change[channel][sample] = Math.Max(Change[channel][sample], excess);
    }
}
