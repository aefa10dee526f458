using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Takes the samples of a strip out of pictures of one region, bilinearly.</summary>
/// <remarks>The places are worked out once; a sample whose neighbours lie outside the region is NaN.</remarks>
internal sealed class StripSampler
{
    private readonly int[] _corner;
    private readonly float[] _fractionX, _fractionY;
    private readonly int _regionWidth;

    public StripSampler(StripGeometry strip, PixelRegion region)
    {
        _regionWidth = region.Width;
        Count = strip.LengthPx * strip.WidthPx;
        _corner = new int[Count];
        _fractionX = new float[Count];
        _fractionY = new float[Count];
        for (int j = 0, at = 0; j < strip.WidthPx; j++)
        {
            for (int i = 0; i < strip.LengthPx; i++, at++)
            {
                (double x, double y) = strip.ToCoded(i, j - strip.HalfWidthPx);
                x -= region.X;
                y -= region.Y;
                // A place on the last column or row has no neighbour beyond; it is reached from the one before with fraction 1.
                int column = Math.Min((int)Math.Floor(x), region.Width - 2), row = Math.Min((int)Math.Floor(y), region.Height - 2);
                bool inside = column >= 0 && row >= 0 && x <= region.Width - 1 && y <= region.Height - 1;
                _corner[at] = inside ? (row * region.Width) + column : -1;
                _fractionX[at] = (float)(x - column);
                _fractionY[at] = (float)(y - row);
            }
        }
    }

    /// <summary>Number of samples: length times width, row by row along s.</summary>
    public int Count { get; }

    /// <summary>Samples a picture of the region.</summary>
    public void Sample(ReadOnlySpan<float> picture, Span<float> strip)
    {
        for (int at = 0; at < _corner.Length; at++)
        {
            int corner = _corner[at];
            if (corner < 0)
            {
                strip[at] = float.NaN;
                continue;
            }

            float top = picture[corner] + (_fractionX[at] * (picture[corner + 1] - picture[corner]));
            float bottom = picture[corner + _regionWidth]
                + (_fractionX[at] * (picture[corner + _regionWidth + 1] - picture[corner + _regionWidth]));
            strip[at] = top + (_fractionY[at] * (bottom - top));
        }
    }
}
