using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>A straight strip of the coded picture along the ruler's axis, with coordinates of its own.</summary>
/// <remarks>
/// Place s runs along the axis toward increasing readings, place t across it; both in px, one sample each px. Sample (i, j) lies at s
/// = i,
/// t = j - HalfWidthPx, where t = 0 is the strip's middle line.
/// </remarks>
public sealed record StripGeometry
{
    private readonly DisplayOrientation _orientation;
    private readonly double _originX, _originY, _axisX, _axisY;

    internal StripGeometry(
        DisplayOrientation orientation, double originX, double originY, double axisX, double axisY, int length, int halfWidth)
    {
        _orientation = orientation;
        (_originX, _originY, _axisX, _axisY) = (originX, originY, axisX, axisY);
        LengthPx = length;
        HalfWidthPx = halfWidth;
    }

    /// <summary>Where the strip begins in the coded picture, and the unit vector along it.</summary>
    internal (double OriginX, double OriginY, double AxisX, double AxisY) Line => (_originX, _originY, _axisX, _axisY);

    /// <summary>Samples along the axis.</summary>
    public int LengthPx { get; }

    /// <summary>Samples on either side of the middle line.</summary>
    public int HalfWidthPx { get; }

    /// <summary>Samples across the strip.</summary>
    public int WidthPx => (2 * HalfWidthPx) + 1;

    /// <summary>Share of its length that a strip covers in rows from which a rolling shutter matters along it: below, the phases of a streak's two
    /// ends differ by less than a fifth of what they do along the columns.</summary>
    private const double LeastRowShare = 0.2;

    /// <summary>Whether the strip lies across the camera's rows, which are those of the coded picture.</summary>
    internal bool CrossesRows => Math.Abs(_axisY) > LeastRowShare;

    /// <summary>The strip along an axis, from edge to edge of the picture.</summary>
    /// <param name="orientation">Size and orientation of the clip's picture.</param>
    /// <param name="axis">The ruler's axis in the displayed picture.</param>
    /// <param name="halfWidthPx">Samples on either side, at least 1.</param>
    public static StripGeometry Along(DisplayOrientation orientation, RulerAxis axis, int halfWidthPx)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(halfWidthPx, 1);
        (double x0, double y0) = orientation.ToCoded(axis.Origin);
        var ahead = new PicturePoint(axis.Origin.UPx + axis.DirectionU, axis.Origin.VPx + axis.DirectionV);
        (double x1, double y1) = orientation.ToCoded(ahead);
        double dx = x1 - x0, dy = y1 - y0;

        // The stretch of the line that lies inside the picture, by clipping against its four edges.
        double low = double.NegativeInfinity, high = double.PositiveInfinity;
        Clip(x0, dx, orientation.CodedWidth - 1);
        Clip(y0, dy, orientation.CodedHeight - 1);
        if (!(high - low >= 1))
        {
            throw new Core.UnusableInputException("marks", "the line through the marks does not cross the picture",
                "Check that the marks belong to this clip and were taken in the picture as displayed.");
        }

        return new StripGeometry(orientation, x0 + (low * dx), y0 + (low * dy), dx, dy, (int)Math.Floor(high - low) + 1, halfWidthPx);

        void Clip(double start, double slope, double limit)
        {
            if (Math.Abs(slope) < 1e-9)
            {
                // Parallel to this pair of edges: inside for all places or for none.
                if (!(start >= 0 && start <= limit))
                    high = double.NegativeInfinity;
                return;
            }

            double a = -start / slope, b = (limit - start) / slope;
            low = Math.Max(low, Math.Min(a, b));
            high = Math.Min(high, Math.Max(a, b));
        }
    }

    /// <summary>A strip along a slightly different line, from edge to edge of the picture.</summary>
    /// <param name="offsetPx">Place across this strip at which the new middle line crosses this strip's middle.</param>
    /// <param name="slope">Change of that place for each px along.</param>
    /// <param name="halfWidthPx">New half width.</param>
    public StripGeometry Along(double offsetPx, double slope, int halfWidthPx)
    {
        double middle = (LengthPx - 1) / 2.0, norm = Math.Sqrt(1 + (slope * slope));
        PicturePoint origin = ToDisplay(middle, offsetPx), ahead = ToDisplay(middle + (1 / norm), offsetPx + (slope / norm));
        return Along(_orientation, new RulerAxis(origin, ahead.UPx - origin.UPx, ahead.VPx - origin.VPx), halfWidthPx);
    }

    /// <summary>The coded place of a strip place.</summary>
    public (double XPx, double YPx) ToCoded(double s, double t) =>
        (_originX + (_axisX * s) - (_axisY * t), _originY + (_axisY * s) + (_axisX * t));

    /// <summary>Where the strip lies in the coded picture.</summary>
    internal StripPlacement Placement() => new(_originX, _originY, _axisX, _axisY, -_axisY, _axisX);

    /// <summary>Where the strip lies in the coded picture of a frame into which the ruler has moved.</summary>
    internal StripPlacement Placement(in RulerMotion motion)
    {
        // The motion is affine, so three points tell it; far ones, for the sake of rounding.
        double far = LengthPx;
        (double x, double y) = Moved(0, 0, motion);
        (double alongX, double alongY) = Moved(far, 0, motion);
        (double acrossX, double acrossY) = Moved(0, far, motion);
        return new StripPlacement(x, y, (alongX - x) / far, (alongY - y) / far, (acrossX - x) / far, (acrossY - y) / far);

        (double X, double Y) Moved(double s, double t, in RulerMotion by) => _orientation.ToCoded(by.ToFrame(ToDisplay(s, t)));
    }

    /// <summary>The displayed place of a strip place.</summary>
    public PicturePoint ToDisplay(double s, double t)
    {
        (double x, double y) = ToCoded(s, t);
        return _orientation.ToDisplay(x, y);
    }

    /// <summary>The smallest region of the coded picture that holds the strip, what bilinear sampling needs around it, and a
    /// margin.</summary>
    /// <param name="marginPx">Pixels added on all sides, at least 0.</param>
    public PixelRegion Region(int marginPx = 0)
    {
        double minX = double.MaxValue, minY = double.MaxValue, maxX = double.MinValue, maxY = double.MinValue;
        foreach (double s in new[] { 0.0, LengthPx - 1 })
        {
            foreach (int t in new[] { -HalfWidthPx, HalfWidthPx })
            {
                (double x, double y) = ToCoded(s, t);
                (minX, maxX) = (Math.Min(minX, x), Math.Max(maxX, x));
                (minY, maxY) = (Math.Min(minY, y), Math.Max(maxY, y));
            }
        }

        int left = Math.Clamp((int)Math.Floor(minX) - 1 - marginPx, 0, _orientation.CodedWidth - 2);
        int top = Math.Clamp((int)Math.Floor(minY) - 1 - marginPx, 0, _orientation.CodedHeight - 2);
        int right = Math.Clamp((int)Math.Ceiling(maxX) + 2 + marginPx, left + 2, _orientation.CodedWidth);
        int bottom = Math.Clamp((int)Math.Ceiling(maxY) + 2 + marginPx, top + 2, _orientation.CodedHeight);
        return new PixelRegion(left, top, right - left, bottom - top);
    }
}
