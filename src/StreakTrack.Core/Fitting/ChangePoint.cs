namespace StreakTrack.Core.Fitting;

/// <summary>Where a series leaves its steady level, found without a model of the whole.</summary>
/// <param name="TimeSeconds">Time of the change, in s.</param>
/// <param name="StandardUncertaintySeconds">
/// Its standard uncertainty, in s: how far the likelihood of the place is spread, and half a spacing of the points as a rectangle.
/// </param>
/// <param name="PointsBefore">Points before the change.</param>
public sealed record ChangePoint(double TimeSeconds, double StandardUncertaintySeconds, int PointsBefore)
{
    /// <summary>Finds the change point of a series.</summary>
    /// <param name="data">The points.</param>
    /// <param name="options">Window; null for the whole series.</param>
    /// <returns>The change point; null when there are too few points or no steady part followed by a change.</returns>
    public static ChangePoint? Find(EnvelopeData data, EnvelopeFitOptions? options = null)
    {
        ArgumentNullException.ThrowIfNull(data);
        FitPoints points = PointSelection.Of(data, options ?? new EnvelopeFitOptions()).Points;
        return points.Count >= EnvelopeFitter.FewestPoints && points.Times[^1] > points.Times[0] ? Find(points) : null;
    }

    internal static ChangePoint? Find(FitPoints points)
    {
        var scan = new ExponentialScan(points);
        (int best, double[] sums) = scan.Places();
        if (best == 0)
            return null;
        best /= scan.Stride;

        // The likelihood of each place, with the scatter of the best one as known.
        points = scan.Points;
        double variance = sums[best] / (points.Count - 5);
        double total = 0, mean = 0, square = 0;
        for (int k = 0; k < sums.Length; k++)
        {
            if (double.IsInfinity(sums[k]))
                continue;
            double weight = Math.Exp(-(sums[k] - sums[best]) / (2 * variance));
            double time = (points.Times[k - 1] + points.Times[k]) / 2;
            total += weight;
            mean += weight * time;
            square += weight * time * time;
        }

        mean /= total;
        double spread = Math.Max(0, square / total - mean * mean);
        return new ChangePoint(mean, Math.Sqrt(spread + points.Spacing * points.Spacing / 12), best * scan.Stride);
    }
}
