using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Ruler;

/// <summary>Coordinates along (s) and across (n) the ruler's axis, in px, with the lean of the ticks: the tick through (s, 0) runs through
/// (s + (Lean + LeanGrowth s) n, n).</summary>
internal readonly record struct AxisFrame(PicturePoint Origin, PicturePoint Direction, double Lean = 0, double LeanGrowth = 0)
{
    public PicturePoint PointAt(double s, double n) => new(
        Origin.UPx + s * Direction.UPx - n * Direction.VPx,
        Origin.VPx + s * Direction.VPx + n * Direction.UPx);

    public (double S, double N) Of(double u, double v)
    {
        double du = u - Origin.UPx, dv = v - Origin.VPx;
        return (du * Direction.UPx + dv * Direction.VPx, dv * Direction.UPx - du * Direction.VPx);
    }

    /// <summary>Place on the axis of the tick through (s, n).</summary>
    public double Foot(double s, double n) => (s - Lean * n) / (1 + LeanGrowth * n);

    /// <summary>The tick lines as the scale wants them: in homogeneous axis coordinates they meet in (Lean, 1, -LeanGrowth).</summary>
    public TickDirections ToTickDirections()
    {
        double w = -LeanGrowth;
        return TickDirections.MeetingAt(
            Lean * Direction.UPx - Direction.VPx + w * Origin.UPx,
            Lean * Direction.VPx + Direction.UPx + w * Origin.VPx,
            w);
    }
}
