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
