namespace StreakTrack.Core.Scale;

/// <summary>The directions of the ruler's ticks in the picture. On the ruler they are parallel, so in the picture their lines meet in one
/// point, or stay parallel when that point is infinitely far away.</summary>
/// <remarks>Held as the meeting point in homogeneous coordinates (U, V, W): the tick through a point (u, v) runs along
/// (U - W u, V - W v). W = 0 means parallel ticks of direction (U, V).</remarks>
public sealed record TickDirections
{
    private TickDirections(double u, double v, double w)
    {
        U = u;
        V = v;
        W = w;
    }

    /// <summary>First homogeneous coordinate of the point where the tick lines meet.</summary>
    public double U { get; }

    /// <summary>Second homogeneous coordinate of the point where the tick lines meet.</summary>
    public double V { get; }

    /// <summary>Third homogeneous coordinate; 0 for parallel ticks.</summary>
    public double W { get; }

    /// <summary>Ticks that are parallel in the picture.</summary>
    /// <param name="du">Pixels to the right along a tick.</param>
    /// <param name="dv">Pixels downward along the same piece of the tick.</param>
    /// <exception cref="ArgumentOutOfRangeException">The two do not give a direction.</exception>
    public static TickDirections Parallel(double du, double dv)
    {
        double length = Math.Sqrt(du * du + dv * dv);
        if (!(length > 0 && double.IsFinite(length)))
            throw new ArgumentOutOfRangeException(nameof(du), $"({du}, {dv}) is no direction.");
        return new TickDirections(du / length, dv / length, 0);
    }

    /// <summary>Ticks whose lines meet in the point (<paramref name="u"/> / <paramref name="w"/>, <paramref name="v"/> / <paramref name="w"/>),
    /// in px; <paramref name="w"/> may be 0.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A coordinate is not finite, or all are 0.</exception>
    public static TickDirections MeetingAt(double u, double v, double w)
    {
        double length = Math.Sqrt(u * u + v * v);
        if (!(length > 0 && double.IsFinite(length) && double.IsFinite(w)))
            throw new ArgumentOutOfRangeException(nameof(u), $"({u}, {v}, {w}) is no point for tick lines to meet in.");
        return new TickDirections(u / length, v / length, w / length);
    }

    /// <summary>Direction of the tick through a point, as a unit vector in px; its sense is arbitrary. NaN at the meeting point itself.</summary>
    public (double DU, double DV) At(PicturePoint point)
    {
        double du = U - W * point.UPx, dv = V - W * point.VPx, length = Math.Sqrt(du * du + dv * dv);
        return length > 0 ? (du / length, dv / length) : (double.NaN, double.NaN);
    }
}
