using System.Runtime.CompilerServices;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Takes the samples of a strip out of pictures of one region, bilinearly.</summary>
/// <remarks>A sample whose neighbours lie outside the region is NaN.</remarks>
internal sealed class StripSampler(StripGeometry strip, PixelRegion region)
{
    /// <summary>Number of samples: length times width, row by row along s.</summary>
    public int Count { get; } = strip.LengthPx * strip.WidthPx;

    /// <summary>Samples a picture of the region.</summary>
    /// <param name="picture">The picture, row by row.</param>
    /// <param name="placement">Where the strip lies in the coded picture.</param>
    /// <param name="samples">Receives the samples.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public void Sample(ReadOnlySpan<float> picture, in StripPlacement placement, Span<float> samples)
    {
        int length = strip.LengthPx, width = region.Width;
        double right = region.Width - 1, bottom = region.Height - 1;
        for (int j = 0; j < strip.WidthPx; j++)
        {
            double t = j - strip.HalfWidthPx;
            double x0 = placement.X + (t * placement.AcrossX) - region.X, y0 = placement.Y + (t * placement.AcrossY) - region.Y;
            Span<float> row = samples.Slice(j * length, length);
            for (int i = 0; i < row.Length; i++)
            {
                double x = x0 + (i * placement.AlongX), y = y0 + (i * placement.AlongY);

                // A hair outside is rounding; a hand's breadth is not.
                if (!(x >= -1e-6 && y >= -1e-6 && x <= right + 1e-6 && y <= bottom + 1e-6))
                {
                    row[i] = float.NaN;
                    continue;
                }

                // A place on the last column or row has no neighbour beyond; it is reached from the one before with fraction 1.
                int column = Math.Min((int)x, region.Width - 2), line = Math.Min((int)y, region.Height - 2);
                float fx = (float)(x - column), fy = (float)(y - line);
                int at = (line * width) + column;
                float above = picture[at] + (fx * (picture[at + 1] - picture[at]));
                float below = picture[at + width] + (fx * (picture[at + width + 1] - picture[at + width]));
                row[i] = above + (fy * (below - above));
            }
        }
    }
}
