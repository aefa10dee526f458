using System.Globalization;
using StreakTrack.Core.Fitting;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Validation.EnvelopeFits;

/// <summary>
/// The measured torsional ring-down of a wheel (fixtures/fits) and its curve, A exp(-t/tau) cos(2 pi f t + phi) + c, whitened for first-order
/// noise.
/// </summary>
/// <param name="rows">Time in s and angular velocity in rad/s.</param>
/// <param name="correlation">Correlation of neighbouring residuals that is allowed for.</param>
internal sealed class RingDown(double[][] rows, double correlation = 0)
{
    public static RingDown Read() => new(
    [
        .. File.ReadLines(Fixtures.PathOf("fits", "bicycle-wheel-torsion-rate-gyro.csv")).Where(line => line.Length > 0 && line[0] != '#').Skip(1)
            .Select(line => line.Split(',').Select(cell => double.Parse(cell, CultureInfo.InvariantCulture)).ToArray()),
    ]);

    public RingDown Whitened(double withCorrelation) => new(rows, withCorrelation);

    /// <summary>The fit: A, tau, f, phi, c.</summary>
    public LeastSquaresResult Fit() => NonlinearLeastSquares.Minimize(Residuals, rows.Length, [3.3, 30, 2.375, 0, 0]);

    public double[] StandardUncertainties(LeastSquaresResult fit) =>
        [.. Enumerable.Range(0, 5).Select(j => Math.Sqrt(fit.InverseGram![j, j] * fit.SumOfSquares / (rows.Length - 5)))];

    public ResidualAnalysis ResidualsOf(LeastSquaresResult fit)
    {
        double[] residuals = new double[rows.Length];
        Residuals(fit.Parameters, residuals, []);
        return ResidualAnalysis.Of(residuals);
    }

    private bool Residuals(ReadOnlySpan<double> p, Span<double> residuals, Span<double> jacobian)
    {
        int n = rows.Length;
        if (!(p[1] > 0))
            return false;
        for (int i = 0; i < n; i++)
        {
            double t = rows[i][0], e = Math.Exp(-t / p[1]);
            (double sin, double cos) = Math.SinCos(2 * Math.PI * p[2] * t + p[3]);
            residuals[i] = p[0] * e * cos + p[4] - rows[i][1];
            if (jacobian.IsEmpty)
                continue;
            jacobian[i] = e * cos;
            jacobian[n + i] = p[0] * e * cos * t / (p[1] * p[1]);
            jacobian[2 * n + i] = -p[0] * e * sin * 2 * Math.PI * t;
            jacobian[3 * n + i] = -p[0] * e * sin;
            jacobian[4 * n + i] = 1;
        }

        Whiten(residuals);
        for (int j = 0; j < 5 && !jacobian.IsEmpty; j++)
            Whiten(jacobian.Slice(j * n, n));
        return true;
    }

    private void Whiten(Span<double> values)
    {
        for (int i = values.Length - 1; i > 0; i--)
            values[i] = (values[i] - correlation * values[i - 1]) / Math.Sqrt(1 - correlation * correlation);
    }
}
