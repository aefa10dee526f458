namespace StreakTrack.Core.Fitting;

/// <summary>Where a least-squares iteration ended, and why.</summary>
public sealed record LeastSquaresResult
{
    /// <summary>The parameters reached; only an estimate when <see cref="Stop"/> is <see cref="LeastSquaresStop.Converged"/>.</summary>
    public required double[] Parameters { get; init; }

    /// <summary>Sum of the squared residuals there.</summary>
    public required double SumOfSquares { get; init; }

    /// <summary>
    /// Inverse of J'J there, from the QR decomposition: the covariance when residuals have unit variance. Null when the parameters cannot
    /// be told apart.
    /// </summary>
    public double[,]? InverseGram { get; init; }

    /// <summary>Why the iteration ended; decided in one place, after the last step.</summary>
    public required LeastSquaresStop Stop { get; init; }

    /// <summary>The largest component of the last undamped step, relative to the parameter or its standard uncertainty.</summary>
    public required double LastRelativeStep { get; init; }

    /// <summary>Iterations of both stages together.</summary>
    public required int Iterations { get; init; }

    /// <summary>Whether the point is a minimum.</summary>
    public bool Converged => Stop == LeastSquaresStop.Converged;

    /// <summary>Covariance of the parameters for residuals of a variance; NaN where <see cref="InverseGram"/> is missing.</summary>
    internal double[,] Covariance(double variance)
    {
        int p = InverseGram?.GetLength(0) ?? Parameters.Length;
        double[,] covariance = new double[p, p];
        for (int i = 0; i < p; i++)
        {
            for (int j = 0; j < p; j++)
                covariance[i, j] = InverseGram is null ? double.NaN : InverseGram[i, j] * variance;
        }

        return covariance;
    }
}
