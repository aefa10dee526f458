using System.Numerics;

namespace StreakTrack.Imaging.Streaks;

/// <summary>How the middle of a streak's light goes with the phase where a shutter rolls along the streak.</summary>
/// <remarks>
/// With m(psi) the middle of the light about the swing's, in half lengths, psi the phase at mid-exposure in the middle of the streak, and c1
/// the first Fourier coefficient of m, the light's middle moves by 2 |c1| cos(psi + arg c1) and overtones. Where all places are exposed at the
/// same time, c1 is sinc(rho) / 2.
/// </remarks>
/// <param name="rowPhaseRadPerPx">As in <see cref="StreakShape.RowPhaseRadPerPx"/>.</param>
/// <param name="periods">Length of the exposure in periods.</param>
/// <param name="forwards">Whether the phase advances from frame to frame by what the middles' frequency says, rather than falling back by
/// it.</param>
internal sealed class RollingMiddle(double rowPhaseRadPerPx, double periods, bool forwards)
{
    private const int Phases = 32, Cells = 96;

    /// <summary>Steps of the row phase over half a streak, in rad, between which the coefficient hardly changes.</summary>
    private const double Step = 0.02;

    private readonly Dictionary<int, double> _known = [];

    /// <summary>Phase of the swing at mid-exposure, in rad.</summary>
    /// <param name="middlePhaseRad">Phase of the middles' fundamental.</param>
    /// <param name="halfLengthPx">Half length of the swing.</param>
    public double MidPhaseRad(double middlePhaseRad, double halfLengthPx)
    {
        int key = (int)Math.Round(rowPhaseRadPerPx * halfLengthPx / Step);
        if (!_known.TryGetValue(key, out double lead))
            _known[key] = lead = Lead(key * Step);
        return (forwards ? middlePhaseRad : -middlePhaseRad) - lead;
    }

    private double Lead(double rowPhaseRad)
    {
        Span<double> cells = stackalloc double[Cells];
        Complex first = Complex.Zero;
        for (int k = 0; k < Phases; k++)
        {
            double phase = 2 * Math.PI * k / Phases, light = 0, moment = 0;
            ArcWeights.Fill(phase - (Math.PI * periods), periods, cells, rowPhaseRad);
            for (int c = 0; c < Cells; c++)
            {
                light += cells[c];
                moment += cells[c] * Math.Cos((c + 0.5) * Math.PI / Cells);
            }

            if (light > 0)
                first += moment / light * Complex.FromPolarCoordinates(1, -phase);
        }

        return first.Phase;
    }
}
