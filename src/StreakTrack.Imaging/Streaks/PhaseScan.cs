using System.Runtime.CompilerServices;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Tries all phases at which an exposure may have begun, for given ends: least squares in which only the brightness is
/// fitted.</summary>
/// <remarks>
/// The streak is taken apart into cells of phase; a model is a weighted sum of them, so that its chi-square follows from sums made once.
/// One object belongs to one thread.
/// </remarks>
internal sealed class PhaseScan
{
    private const int Cells = 32;
    private const int Phases = 48;

    /// <summary>How far beyond the ends the comparison reaches, in sigma.</summary>
    private const double OuterReach = 5;

    private readonly double[] _projection = new double[Cells];
    private readonly double[] _gram = new double[Cells * Cells];
    private readonly double[] _cells = new double[Cells];
    private readonly float[][] _kernels = new float[Cells][];
    private readonly int[] _first = new int[Cells], _last = new int[Cells];
    private double _squares, _halfLengthPx;

    /// <summary>Prepares the comparison with one profile.</summary>
    /// <param name="light">Laser light along the strip; NaN where there is none to be had.</param>
    /// <param name="response">Relative response of each place.</param>
    /// <param name="noise">Noise of the profile.</param>
    /// <param name="shape">Ends, spot width and background; its light scales the noise.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public void Prepare(ReadOnlySpan<float> light, ReadOnlySpan<float> response, in ProfileNoise noise, in StreakShape shape)
    {
        double outer = OuterReach * shape.SigmaPx;
        int from = Math.Max(0, (int)Math.Ceiling(shape.CentrePx - shape.HalfLengthPx - outer));
        int to = Math.Min(light.Length - 1, (int)Math.Floor(shape.CentrePx + shape.HalfLengthPx + outer));
        int count = Math.Max(0, to - from + 1);
        int perCell = Math.Max(1, (int)Math.Ceiling(Math.PI * shape.HalfLengthPx / (Cells * shape.SigmaPx)));
        for (int c = 0; c < Cells; c++)
        {
            if (_kernels[c] is null || _kernels[c].Length < count)
                _kernels[c] = new float[count];
            Span<float> kernel = _kernels[c].AsSpan(0, count);
            kernel.Clear();
            double low = double.MaxValue, high = double.MinValue;
            for (int k = 0; k < perCell; k++)
            {
                double theta = (c + ((k + 0.5) / perCell)) * Math.PI / Cells;
                double at = shape.CentrePx + (shape.HalfLengthPx * Math.Cos(theta));
                StreakProfile.AddSpot(at, shape.SigmaPx, 1.0 / perCell, kernel, from);
                (low, high) = (Math.Min(low, at), Math.Max(high, at));
            }

            _first[c] = Math.Clamp((int)(low - outer) - from, 0, count);
            _last[c] = Math.Clamp((int)(high + outer) - from, -1, count - 1);
        }

        _halfLengthPx = shape.HalfLengthPx;
        Array.Clear(_projection);
        Array.Clear(_gram);
        _squares = 0;

        // A level of light typical of the streak stands for the part of the noise that grows with it.
        double typical = shape.Light / Math.Max(2 * shape.HalfLengthPx, 2.5 * shape.SigmaPx);
        for (int i = 0; i < count; i++)
        {
            float value = light[from + i];
            if (float.IsNaN(value))
                continue;
            double y = value - shape.Background;
            double weight = 1 / noise.Variance(Math.Max(typical, y));
            _squares += weight * y * y;
            double r = response[from + i];
            for (int a = 0; a < Cells; a++)
            {
                if (i < _first[a] || i > _last[a])
                    continue;
                double wa = weight * r * _kernels[a][i];
                _projection[a] += wa * y;
                for (int b = 0; b <= a; b++)
                {
                    if (i >= _first[b] && i <= _last[b])
                        _gram[(a * Cells) + b] += wa * r * _kernels[b][i];
                }
            }
        }
    }

    /// <summary>The best phase for an exposure.</summary>
    /// <param name="periods">Length of the exposure in periods.</param>
    /// <param name="rowPhaseRadPerPx">As in <see cref="StreakShape.RowPhaseRadPerPx"/>.</param>
    /// <returns>Phase in rad, light of a whole period, and chi-square.</returns>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public (double StartRad, double Light, double ChiSquare) Best(double periods, double rowPhaseRadPerPx = 0)
    {
        (double Start, double Light, double Chi) best = (0, double.NaN, double.PositiveInfinity);
        for (int k = 0; k < Phases; k++)
        {
            double start = 2 * Math.PI * k / Phases;
            ArcWeights.Fill(start, periods, _cells, rowPhaseRadPerPx * _halfLengthPx);
            double overlap = 0, norm = 0;
            for (int a = 0; a < Cells; a++)
            {
                if (_cells[a] == 0)
                    continue;
                overlap += _cells[a] * _projection[a];
                double row = 0.5 * _cells[a] * _gram[(a * Cells) + a];
                for (int b = 0; b < a; b++)
                    row += _cells[b] * _gram[(a * Cells) + b];
                norm += 2 * _cells[a] * row;
            }

            if (!(norm > 0) || !(overlap > 0))
                continue;
            double chi = _squares - (overlap * overlap / norm);
            if (chi < best.Chi)
                best = (start, 2 * Math.PI * overlap / norm, chi);
        }

        return best;
    }
}
