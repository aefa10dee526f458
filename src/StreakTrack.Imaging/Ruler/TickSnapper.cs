using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Ruler;

/// <summary>Moves a point that was set near a tick onto the tick, to a fraction of a pixel.</summary>
public static class TickSnapper
{
    private const double SamplePx = 0.5;

    /// <summary>What the camera's and the codec's treatment of fine lines leaves at best, in px.</summary>
    private const double SmallestPx = 0.02;

    /// <summary>A line this faint beside its surroundings is texture.</summary>
    private const double LowestContrast = 0.02;

    /// <summary>Depth over its uncertainty from which a line is there.</summary>
    private const double LowestSignificance = 6;

    /// <summary>Lines in at least this share of the gradients' energy point one way, when the direction is taken from the picture.</summary>
    private const double LowestAgreement = 0.3;

    /// <summary>Finds the tick nearest to a point.</summary>
    /// <param name="picture">The ruler, as displayed.</param>
    /// <param name="near">Where the tick was pointed at.</param>
    /// <param name="options">How to snap.</param>
    /// <returns>The point on the tick; null when no tick lies within reach.</returns>
    /// <exception cref="ArgumentOutOfRangeException">An option is out of its range.</exception>
    public static TickSnap? Snap(RulerPicture picture, PicturePoint near, TickSnapOptions options)
    {
        ArgumentNullException.ThrowIfNull(picture);
        ArgumentNullException.ThrowIfNull(options);
        options.Validate();
        if (!picture.Contains(near.UPx, near.VPx) || (options.AlongRuler ?? AcrossLines(picture, near, 2 * options.ReachPx)) is not { } along)
            return null;
        double length = Math.Sqrt(along.UPx * along.UPx + along.VPx * along.VPx);
        along = new PicturePoint(along.UPx / length, along.VPx / length);
        AxisFrame frame = new(near, along);

        // Few rows serve a click at the end of a tick, many rows a faint tick: the surest result counts.
        TickLine? best = null;
        foreach (double rows in (ReadOnlySpan<double>)[2.5, 5, 10])
        {
            if (Nearest(picture, frame, rows, options.ReachPx) is not var (place, room, sign))
                continue;
            TickLine? line = TickLine.Fit(picture, frame, place, Math.Clamp(room, 2, 10), -rows, rows, sign, 1.2, true);
            if (line is null || !(Math.Abs(line.PlacePx) <= options.ReachPx) || Math.Abs(line.Depth) < LowestContrast
                || Math.Abs(line.Depth) < LowestSignificance * line.DepthUncertainty)
            {
                continue;
            }

            bool other = best is not null && Math.Abs(line.PlacePx - best.PlacePx) > 1.5;
            if (best is null || (other ? Math.Abs(line.PlacePx) < Math.Abs(best.PlacePx) : line.UncertaintyPx < best.UncertaintyPx))
                best = line;
        }

        return best is null
            ? null
            : new TickSnap(frame.PointAt(best.PlacePx, 0), Math.Sqrt(best.UncertaintyPx * best.UncertaintyPx + SmallestPx * SmallestPx), best.Depth, along);
    }

    /// <summary>Place of the line across the axis that is nearest, half the distance to its neighbours, and +1 for a dark line.</summary>
    private static (double Place, double Room, int Sign)? Nearest(RulerPicture picture, AxisFrame frame, double rows, double reachPx)
    {
        const double Margin = 12;
        int half = (int)Math.Ceiling((reachPx + Margin) / SamplePx);
        double[] profile = new double[2 * half + 1];
        for (int i = 0; i < profile.Length; i++)
        {
            int count = 0;
            for (double n = -rows; n <= rows; n++)
            {
                PicturePoint point = frame.PointAt((i - half) * SamplePx, n);
                double value = picture.At(point.UPx, point.VPx);
                if (!double.IsFinite(value))
                    continue;
                profile[i] += value;
                count++;
            }

            profile[i] = count > 0 ? profile[i] / count : double.NaN;
        }

        // How far a sample lies below both sides three pixels away.
        const int Side = (int)(3 / SamplePx);
        double[] ridge = new double[profile.Length];
        for (int i = Side; i < ridge.Length - Side; i++)
            ridge[i] = (profile[i - Side] + profile[i + Side]) / 2 - (profile[i - 1] + profile[i] + profile[i + 1]) / 3;
        double[] finite = [.. ridge.Where(double.IsFinite)];
        if (finite.Length < profile.Length / 2)
            return null;
        // Where ticks are close together, gaps look like bright lines almost as strong: ticks are dark unless bright lines clearly win.
        int sign = -finite.Min() > 1.5 * finite.Max() ? -1 : 1;
        double strongest = sign > 0 ? finite.Max() : -finite.Min();
        List<double> peaks = [];
        for (int i = 1; i < ridge.Length - 1; i++)
        {
            if (sign * ridge[i] > 0.3 * strongest && sign * ridge[i] >= sign * ridge[i - 1] && sign * ridge[i] > sign * ridge[i + 1])
                peaks.Add((i - half) * SamplePx);
        }

        if (peaks.Count == 0)
            return null;
        double nearest = peaks.MinBy(Math.Abs);
        return Math.Abs(nearest) > reachPx + 1
            ? null
            : (nearest, peaks.Where(other => other != nearest).Select(other => Math.Abs(other - nearest) / 2).DefaultIfEmpty(Margin).Min(), sign);
    }

    /// <summary>Direction in which brightness changes most around a point: the larger eigenvector of the structure tensor. Null when no direction
    /// stands out.</summary>
    private static PicturePoint? AcrossLines(RulerPicture picture, PicturePoint near, double radiusPx)
    {
        double radius = Math.Max(12, radiusPx), uu = 0, uv = 0, vv = 0;
        for (double v = near.VPx - radius; v <= near.VPx + radius; v++)
        {
            for (double u = near.UPx - radius; u <= near.UPx + radius; u++)
            {
                double gu = picture.At(u + 1, v) - picture.At(u - 1, v), gv = picture.At(u, v + 1) - picture.At(u, v - 1);
                if (!double.IsFinite(gu + gv))
                    continue;
                double distance2 = (Math.Pow(u - near.UPx, 2) + Math.Pow(v - near.VPx, 2)) / (radius * radius), weight = Math.Exp(-2 * distance2);
                uu += weight * gu * gu;
                uv += weight * gu * gv;
                vv += weight * gv * gv;
            }
        }

        double difference = Math.Sqrt(Math.Pow(uu - vv, 2) + 4 * uv * uv);
        if (!(difference > LowestAgreement * (uu + vv)))
            return null;
        double angle = 0.5 * Math.Atan2(2 * uv, uu - vv);
        return new PicturePoint(Math.Cos(angle), Math.Sin(angle));
    }
}
