namespace StreakTrack.Core.Fitting;

/// <summary>QR decomposition of a tall matrix with its columns scaled to unit length, with the right-hand side carried along.</summary>
/// <remarks>
/// Works in place on the caller's arrays: the fits of one series run through it thousands of times. Golub and Van Loan, Matrix
/// Computations, algorithms 5.1.1 and 5.2.1 (from memory).
/// </remarks>
internal sealed class HouseholderQr
{
    private readonly int _rows;
    private readonly int _columns;
    private readonly double[] _r;

    /// <summary>Decomposes.</summary>
    /// <param name="matrix">Column after column; overwritten.</param>
    /// <param name="rightHandSide">One value a row; overwritten with Q transposed times it.</param>
    /// <param name="columns">Number of columns, not more than rows.</param>
    public HouseholderQr(Span<double> matrix, Span<double> rightHandSide, int columns)
    {
        _rows = rightHandSide.Length;
        _columns = columns;
        ColumnNorms = new double[columns];
        _r = new double[columns * columns];
        for (int j = 0; j < columns; j++)
        {
            Span<double> column = matrix.Slice(j * _rows, _rows);
            double norm = Norm(column);
            ColumnNorms[j] = norm;
            if (norm > 0)
            {
                for (int i = 0; i < _rows; i++)
                    column[i] /= norm;
            }
        }

        for (int k = 0; k < columns; k++)
        {
            Span<double> v = matrix.Slice(k * _rows + k, _rows - k);
            double norm = Norm(v);
            double alpha = v[0] > 0 ? -norm : norm;
            _r[k * columns + k] = alpha;
            if (norm == 0)
                continue;
            v[0] -= alpha;
            double half = 0;
            foreach (double x in v)
                half += x * x;
            half /= 2;
            for (int j = k + 1; j < columns; j++)
                _r[k * columns + j] = Reflect(v, half, matrix.Slice(j * _rows + k, _rows - k));
            Reflect(v, half, rightHandSide[k..]);
        }

        RotatedRightHandSide = rightHandSide[..columns].ToArray();
    }

    /// <summary>Euclidean length of each column before scaling.</summary>
    public double[] ColumnNorms { get; }

    /// <summary>The part of the right-hand side that the columns can reach, in the basis of Q.</summary>
    public double[] RotatedRightHandSide { get; }

    /// <summary>Element of the upper triangle R of the column-scaled matrix.</summary>
    public double R(int row, int column) => _r[row * _columns + column];

    /// <summary>
    /// A lower bound for the ratio of the smallest to the largest singular value of the column-scaled matrix, too small by at most the
    /// number of columns; 0 when a column vanishes or is not finite.
    /// </summary>
    public double ReciprocalCondition()
    {
        for (int j = 0; j < _columns; j++)
        {
            if (!(ColumnNorms[j] > 0) || !double.IsFinite(ColumnNorms[j]) || !(Math.Abs(R(j, j)) > 0))
                return 0;
        }

        // The squared Frobenius norm of the inverse lies between 1/smallest^2 and columns/smallest^2; the largest is at most sqrt(columns).
        double[,] inverse = InverseTriangle();
        double sum = 0;
        foreach (double value in inverse)
            sum += value * value;
        return double.IsFinite(sum) ? 1 / Math.Sqrt(sum * _columns) : 0;
    }

    /// <summary>The least-squares solution for the right-hand side given, in unscaled columns.</summary>
    public double[] Solve()
    {
        double[] x = [.. RotatedRightHandSide];
        for (int i = _columns - 1; i >= 0; i--)
        {
            for (int j = i + 1; j < _columns; j++)
                x[i] -= R(i, j) * x[j];
            x[i] /= R(i, i);
        }

        for (int i = 0; i < _columns; i++)
            x[i] /= ColumnNorms[i];
        return x;
    }

    /// <summary>Inverse of the matrix' Gram matrix: the covariance for unit residual variance.</summary>
    public double[,] InverseGram()
    {
        int p = _columns;
        double[,] inverse = InverseTriangle();
        double[,] result = new double[p, p];
        for (int i = 0; i < p; i++)
        {
            for (int j = 0; j < p; j++)
            {
                double sum = 0;
                for (int k = Math.Max(i, j); k < p; k++)
                    sum += inverse[i, k] * inverse[j, k];
                result[i, j] = sum / (ColumnNorms[i] * ColumnNorms[j]);
            }
        }

        return result;
    }

    private double[,] InverseTriangle()
    {
        int p = _columns;
        double[,] inverse = new double[p, p];
        for (int j = 0; j < p; j++)
        {
            inverse[j, j] = 1 / R(j, j);
            for (int i = j - 1; i >= 0; i--)
            {
                double sum = 0;
                for (int k = i + 1; k <= j; k++)
                    sum += R(i, k) * inverse[k, j];
                inverse[i, j] = -sum / R(i, i);
            }
        }

        return inverse;
    }

    private static double Reflect(ReadOnlySpan<double> v, double half, Span<double> target)
    {
        double dot = 0;
        for (int i = 0; i < v.Length; i++)
            dot += v[i] * target[i];
        double factor = dot / half;
        for (int i = 0; i < v.Length; i++)
            target[i] -= factor * v[i];
        return target[0];
    }

    private static double Norm(ReadOnlySpan<double> values)
    {
        // Scaled, because squares of steep derivatives can overflow.
        double largest = 0;
        foreach (double value in values)
            largest = Math.Max(largest, Math.Abs(value));
        if (!(largest > 0))
            return largest;
        double sum = 0;
        foreach (double value in values)
            sum += value / largest * (value / largest);
        return largest * Math.Sqrt(sum);
    }
}
