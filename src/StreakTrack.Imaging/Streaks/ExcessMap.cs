using System.Runtime.CompilerServices;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

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
    /// <param name="sample">The frames.</param>
    /// <param name="strip">The strip in the first of them.</param>
    /// <param name="motions">Where the ruler went since then, with which the strip goes; null where it stands still.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public static ExcessMap Of(FrameSample sample, StripGeometry strip, IReadOnlyList<RulerMotion>? motions = null)
    {
        IReadOnlyList<RawFrame> frames = sample.Frames;
        PixelRegion region = frames[0].Region;
        var map = new ExcessMap((strip.LengthPx + Stride - 1) / Stride, (strip.WidthPx + Stride - 1) / Stride, strip.HalfWidthPx);
        int[] at = new int[map.Columns * map.Rows];
        bool[] outside = new bool[at.Length];
        var converters = new LinearLight[]
        {
            new(sample.Colour, LightChannel.Red), new(sample.Colour, LightChannel.Green), new(sample.Colour, LightChannel.Blue),
        };
        float[][] planes = [.. Enumerable.Range(0, 3).Select(_ => new float[region.Width * region.Height])];
        for (int f = 0; f < frames.Count; f++)
        {
            if (f == 0 || motions is not null)
                map.Place(motions is null ? strip.Placement() : strip.Placement(motions[f]), region, at, outside);
            RawFrame frame = frames[f];
            Parallel.For(0, 3, c => converters[c].Convert(frame, planes[c]));
            Parallel.For(0, map.Rows, j => map.AddRow(j, at, planes));
        }

        for (int c = 0; c < 3; c++)
        {
            for (int k = 0; k < at.Length; k++)
            {
                map.Change[c][k] = outside[k] ? float.NaN : map.Change[c][k] - map.Least[c][k];
                map.Least[c][k] = outside[k] ? float.NaN : map.Least[c][k];
            }
        }

        return map;
    }

    // Which pixel of the region each sample of the map is; -1 and a note where it lies outside.
    private void Place(in StripPlacement strip, in PixelRegion region, int[] at, bool[] outside)
    {
        for (int j = 0; j < Rows; j++)
        {
            for (int i = 0; i < Columns; i++)
            {
                double s = i * Stride, t = (j * Stride) - HalfWidthPx;
                int column = (int)Math.Round(strip.X + (s * strip.AlongX) + (t * strip.AcrossX)) - region.X;
                int row = (int)Math.Round(strip.Y + (s * strip.AlongY) + (t * strip.AcrossY)) - region.Y;
                bool inside = column >= 0 && row >= 0 && column < region.Width && row < region.Height;
                int k = (j * Columns) + i;
                at[k] = inside ? (row * region.Width) + column : -1;
                outside[k] |= !inside;
            }
        }
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
