using StreakTrack.Core;

namespace StreakTrack.Imaging.Streaks;

/// <summary>How long an exposure sees each stretch of the swing.</summary>
/// <remarks>
/// With the place written as c + A cos(phase), an exposure of rho periods sees the phases from phi to phi + 2 pi rho. Phases theta and
/// -theta
/// lie at the same place, so all that matters is how often the two together were passed, for theta from 0 (the end on the side of
/// increasing
/// readings) to pi (the other end).
/// </remarks>
internal static class ArcWeights
{
    /// <summary>Phase passed within cells of equal width, in rad; the cells divide 0 to pi.</summary>
    /// <param name="startRad">Phase at the beginning of the exposure.</param>
    /// <param name="periods">Length of the exposure in periods, positive.</param>
    /// <param name="cells">Receives the phase passed in each cell; the sum is 2 pi times <paramref name="periods"/> where all places are
    /// exposed at the same time.</param>
    /// <param name="rowPhaseRad">How much later, in rad, the exposure begins at the end of phase 0 than in the middle.</param>
    public static void Fill(double startRad, double periods, Span<double> cells, double rowPhaseRad = 0)
    {
        double whole = Math.Floor(periods);
        double from = Wrap(startRad), to = from + (2 * Math.PI * (periods - whole));
        double width = Math.PI / cells.Length;
        double below = 0;
        for (int j = 0; j < cells.Length; j++)
        {
            if (rowPhaseRad != 0)
            {
                from = Wrap(startRad + (rowPhaseRad * Math.Cos((j + 0.5) * width)));
                to = from + (2 * Math.PI * (periods - whole));
                below = Passed(from, to, j * width);
            }

            double upTo = Passed(from, to, (j + 1) * width);
            cells[j] = (2 * whole * width) + (upTo - below);
            below = upTo;
        }
    }

    /// <summary>Light that an exposure paints along the whole streak, as a share of what it would where all places are exposed at the same
    /// time.</summary>
    /// <param name="shape">The streak.</param>
    public static double LightShare(in StreakShape shape)
    {
        Span<double> cells = stackalloc double[256];
        Fill(shape.StartRad, shape.Periods, cells, shape.RowPhaseRadPerPx * shape.HalfLengthPx);
        double passed = 0;
        foreach (double cell in cells)
            passed += cell;
        return passed / (2 * Math.PI * shape.Periods);
    }

    /// <summary>The same where the streak is not known exactly: the mean over the phases that the fit allows, and how far the share
    /// is known.</summary>
    /// <param name="shape">The streak.</param>
    /// <param name="phaseSdRad">Standard uncertainty of its phase.</param>
    /// <param name="rowPhaseSdShare">Standard uncertainty of the phase between the middle and an end, as a share of it.</param>
    public static UncertainValue LightShare(in StreakShape shape, double phaseSdRad, double rowPhaseSdShare)
    {
        // Two standard deviations to either side in nine steps: the share has kinks where an arc begins to be seen twice.
        const int steps = 4;
        double weights = 0, sum = 0, squares = 0, sd = double.IsFinite(phaseSdRad) ? Math.Min(phaseSdRad, Math.PI / 2) : Math.PI / 2;
        for (int k = -steps; k <= steps; k++)
        {
            double z = 2.0 * k / steps, weight = Math.Exp(-z * z / 2);
            double share = LightShare(shape with { StartRad = shape.StartRad + (z * sd) });
            weights += weight;
            sum += weight * share;
            squares += weight * share * share;
        }

        double mean = sum / weights;
        double wider = LightShare(shape with { RowPhaseRadPerPx = shape.RowPhaseRadPerPx * (1 + rowPhaseSdShare) });
        double narrower = LightShare(shape with { RowPhaseRadPerPx = shape.RowPhaseRadPerPx * (1 - rowPhaseSdShare) });
        double byRows = (wider - narrower) / 2;
        return new UncertainValue(mean, Math.Sqrt(Math.Max((squares / weights) - (mean * mean), 0) + (byRows * byRows)));
    }

    /// <summary>The smallest share, of all phases at which the exposure may have begun.</summary>
    /// <param name="shape">The streak; its phase does not matter.</param>
    public static double LeastLightShare(StreakShape shape)
    {
        const int phases = 48;
        return Enumerable.Range(0, phases).Min(k => LightShare(shape with { StartRad = 2 * Math.PI * k / phases }));
    }

    /// <summary>The phase brought to 0 .. 2 pi.</summary>
    public static double Wrap(double phaseRad)
    {
        double turns = phaseRad / (2 * Math.PI);
        return (turns - Math.Floor(turns)) * 2 * Math.PI;
    }

    // What an arc shorter than a turn, beginning in 0 .. 2 pi, has in common with the phases within theta of a multiple of 2 pi.
    private static double Passed(double from, double to, double theta)
    {
        double sum = 0;
        for (int k = 0; k <= 2; k++)
        {
            double centre = 2 * Math.PI * k;
            sum += Math.Max(0, Math.Min(to, centre + theta) - Math.Max(from, centre - theta));
        }

        return sum;
    }
}
