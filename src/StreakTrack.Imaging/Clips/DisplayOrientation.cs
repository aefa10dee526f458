using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Clips;

/// <summary>How the coded picture is turned or mirrored for display: the container's display matrix without scaling.</summary>
/// <remarks>
/// Display coordinates follow from coded ones as u = XX x + XY y + U0, v = YX x + YY y + V0, with the offsets chosen so that the centre of
/// the top left pixel of either picture is (0, 0).
/// </remarks>
/// <param name="CodedWidth">Columns of the coded picture.</param>
/// <param name="CodedHeight">Rows of the coded picture.</param>
/// <param name="XX">Part of u that goes with x: -1, 0 or 1.</param>
/// <param name="XY">Part of u that goes with y: -1, 0 or 1.</param>
/// <param name="YX">Part of v that goes with x: -1, 0 or 1.</param>
/// <param name="YY">Part of v that goes with y: -1, 0 or 1.</param>
public sealed record DisplayOrientation(int CodedWidth, int CodedHeight, int XX, int XY, int YX, int YY)
{
    /// <summary>The orientation of a picture that is shown as stored.</summary>
    public static DisplayOrientation Upright(int width, int height) => new(width, height, 1, 0, 0, 1);

    /// <summary>Whether rows become columns.</summary>
    public bool SwapsAxes => XX == 0;

    /// <summary>Columns of the displayed picture.</summary>
    public int DisplayWidth => SwapsAxes ? CodedHeight : CodedWidth;

    /// <summary>Rows of the displayed picture.</summary>
    public int DisplayHeight => SwapsAxes ? CodedWidth : CodedHeight;

    private double OffsetU => (XX < 0 ? CodedWidth - 1 : 0) + (XY < 0 ? CodedHeight - 1 : 0);

    private double OffsetV => (YX < 0 ? CodedWidth - 1 : 0) + (YY < 0 ? CodedHeight - 1 : 0);

    /// <summary>The displayed place of a coded point.</summary>
    /// <param name="xPx">Column, centre of the leftmost pixel 0.</param>
    /// <param name="yPx">Row, centre of the topmost pixel 0.</param>
    public PicturePoint ToDisplay(double xPx, double yPx) => new(XX * xPx + XY * yPx + OffsetU, YX * xPx + YY * yPx + OffsetV);

    /// <summary>The coded place (x, y) of a displayed point, in px.</summary>
    public (double XPx, double YPx) ToCoded(PicturePoint point)
    {
        // The 2x2 part is orthogonal, so its inverse is its transpose.
        double u = point.UPx - OffsetU, v = point.VPx - OffsetV;
        return (XX * u + YX * v, XY * u + YY * v);
    }
}
