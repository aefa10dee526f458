using StreakTrack.Core.Series;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Holds the stated uncertainties against the clip itself: an amplitude that changes smoothly scatters about its neighbours
/// by as much as
/// is stated, or the statement is wrong.</summary>
internal static class UncertaintyCheck
{
    /// <summary>Triples that a factor is taken from, at least.</summary>
    private const int LeastTriples = 20;

    /// <summary>Scales the uncertainties so that second differences of neighbouring frames scatter as stated (robustly), and adds what
    /// neighbours
    /// have in common.</summary>
    /// <param name="readings">The readings; replaced.</param>
    /// <param name="commonPx">Standard uncertainty of a half length from causes that stay the same over a few frames, in px: texture
    /// and speckle
    /// under the ends.</param>
    /// <param name="againstNeighbours">Whether neighbouring frames show nearly the same amplitude; if not, nothing is scaled.</param>
    /// <returns>The factor; 1 when there are too few frames to tell.</returns>
    public static double Scale(StreakReading[] readings, double commonPx, bool againstNeighbours = true)
    {
        var normalised = new List<double>();
        for (int k = 1; againstNeighbours && k + 1 < readings.Length; k++)
        {
            double a = Half(readings[k - 1]), b = Half(readings[k]), c = Half(readings[k + 1]);
            double u = Math.Sqrt(Variance(readings[k - 1]) + (4 * Variance(readings[k])) + Variance(readings[k + 1]));
            double z = Math.Abs(a - (2 * b) + c) / u;
            if (double.IsFinite(z))
                normalised.Add(z);
        }

        normalised.Sort();

        // 0.6745 is the median of the absolute value of a standard normal variable.
        double factor = normalised.Count < LeastTriples ? 1 : Math.Clamp(normalised[normalised.Count / 2] / 0.6745, 0.5, 20);
        for (int k = 0; k < readings.Length; k++)
        {
            double own = factor * readings[k].HalfLengthUncertaintyPx;
            readings[k] = readings[k] with { HalfLengthUncertaintyPx = Math.Sqrt((own * own) + (commonPx * commonPx)) };
        }

        return factor;
    }

    private static double Variance(StreakReading reading) => reading.HalfLengthUncertaintyPx * reading.HalfLengthUncertaintyPx;

    private static double Half(StreakReading reading)
    {
        if (reading.FirstEnd is not { } first || reading.SecondEnd is not { } second)
            return double.NaN;
        double du = second.UPx - first.UPx, dv = second.VPx - first.VPx;
        return 0.5 * Math.Sqrt((du * du) + (dv * dv));
    }
}
