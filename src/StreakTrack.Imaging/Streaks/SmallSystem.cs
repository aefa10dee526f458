namespace StreakTrack.Imaging.Streaks;

/// <summary>Normal equations of a handful of parameters, some of them held; solved by Cholesky's method without allocation.</summary>
internal static class SmallSystem
{
    /// <summary>Solves (N + damping diag N) x = r for the free parameters; the others get 0.</summary>
    /// <param name="normal">Lower triangle of the symmetric matrix, row by row, rows as long as <paramref name="right"/>.</param>
    /// <param name="right">Right side.</param>
    /// <param name="free">Which parameters take part.</param>
    /// <param name="damping">Levenberg-Marquardt's damping, 0 for none.</param>
    /// <param name="solution">Receives the solution.</param>
    /// <returns>False when the matrix is not positive definite.</returns>
    public static bool TrySolve(
        ReadOnlySpan<double> normal, ReadOnlySpan<double> right, ReadOnlySpan<bool> free, double damping, Span<double> solution)
    {
        int n = right.Length;
        Span<double> lower = stackalloc double[n * n];
        solution.Clear();
        for (int i = 0; i < n; i++)
        {
            if (!free[i])
                continue;
            for (int j = 0; j <= i; j++)
            {
                if (!free[j])
                    continue;
                double sum = normal[(i * n) + j] * (i == j ? 1 + damping : 1);
                for (int k = 0; k < j; k++)
                    sum -= lower[(i * n) + k] * lower[(j * n) + k];
                if (i != j)
                    lower[(i * n) + j] = sum / lower[(j * n) + j];
                else if (sum > 1e-12 * normal[(i * n) + i])
                    lower[(i * n) + i] = Math.Sqrt(sum);
                else
                    return false;
            }
        }

        for (int i = 0; i < n; i++)
        {
            if (!free[i])
                continue;
            double sum = right[i];
            for (int k = 0; k < i; k++)
                sum -= lower[(i * n) + k] * solution[k];
            solution[i] = sum / lower[(i * n) + i];
        }

        for (int i = n - 1; i >= 0; i--)
        {
            if (!free[i])
                continue;
            double sum = solution[i];
            for (int k = i + 1; k < n; k++)
                sum -= lower[(k * n) + i] * solution[k];
            solution[i] = sum / lower[(i * n) + i];
        }

        return true;
    }

    /// <summary>A diagonal element of the inverse; NaN when the matrix is not positive definite.</summary>
    public static double InverseDiagonal(ReadOnlySpan<double> normal, ReadOnlySpan<bool> free, int index)
    {
        Span<double> unit = stackalloc double[free.Length], column = stackalloc double[free.Length];
        unit[index] = 1;
        return TrySolve(normal, unit, free, 0, column) ? column[index] : double.NaN;
    }
}
