namespace StreakTrack.Core.Fitting;

/// <summary>Finds how much residuals resemble their neighbours.</summary>
/// <remarks>
/// First-order autoregressive noise, with the correlation falling as a power of the distance in time. The correlation is the maximum of the
/// restricted likelihood (Patterson and Thompson, Biometrika 58 (1971) 545, from memory) of the model linearised at the estimate: the
/// plain correlation of the residuals is biased low, because the curve has followed part of the noise.
/// </remarks>
internal static class AutoregressiveNoise
{
    private const double LargestCorrelation = 0.99;

    /// <summary>
    /// Drop of the log likelihood at which a correlation above 0 is significant at the 5 % level: half the 90 % quantile of chi-square.
    /// </summary>
    private const double SignificantDrop = 2.705543 / 2;

    /// <summary>What the residuals say about the noise.</summary>
    /// <param name="Correlation">Correlation one spacing apart, 0 to 0.99.</param>
    /// <param name="IsSignificant">Whether it is above 0 at the 5 % level.</param>
    /// <param name="Variance">Variance of the standardised noise: 1 when the points' sigmas are of the right size.</param>
    public sealed record Estimate(double Correlation, bool IsSignificant, double Variance);

    /// <summary>Estimates the noise.</summary>
    /// <param name="problem">The problem; its own correlation is disregarded.</param>
    /// <param name="estimate">The full parameters at which it is linearised.</param>
    public static Estimate Of(EnvelopeProblem problem, double[] estimate)
    {
        EnvelopeProblem plain = problem.WithCorrelation(0);
        int n = problem.Points.Count, p = problem.Free.Count;
        double[] residuals = new double[n];
        double[] jacobian = new double[n * p];
        if (n <= p + 2 || !plain.Residuals(problem.FreePart(estimate), residuals, jacobian))
            return new Estimate(0, false, double.NaN);
        return Of(problem.Points, residuals, jacobian, p);
    }

    /// <summary>Estimates the noise from residuals and their derivatives.</summary>
    /// <param name="points">The points.</param>
    /// <param name="residuals">
    /// A residual for each point; further ones, of what was known of the parameters beforehand, may follow and are independent.
    /// </param>
    /// <param name="jacobian">Their derivatives, column after column.</param>
    /// <param name="p">Number of parameters, fewer than residuals.</param>
    public static Estimate Of(FitPoints points, double[] residuals, double[] jacobian, int p)
    {
        int n = residuals.Length, rows = points.Count;
        double[] r = new double[n];
        double[] j = new double[n * p];
        double variance = double.NaN;
        double Likelihood(double phi)
        {
            residuals.CopyTo(r, 0);
            jacobian.CopyTo(j, 0);
            points.Whiten(r.AsSpan(0, rows), phi);
            for (int k = 0; k < p; k++)
                points.Whiten(j.AsSpan(k * n, rows), phi);
            var qr = new HouseholderQr(j, r, p);
            double rss = 0;
            for (int i = p; i < n; i++)
                rss += r[i] * r[i];
            variance = rss / (n - p);
            double information = 0;
            for (int k = 0; k < p; k++)
                information += 2 * Math.Log(Math.Abs(qr.R(k, k)) * qr.ColumnNorms[k]);
            return -0.5 * ((n - p) * Math.Log(rss) + points.LogDeterminant(phi) + information);
        }

        double best = 0, zero = Likelihood(0), bestValue = zero;
        for (double phi = 0.1; phi < 0.95; phi += 0.1)
        {
            double value = Likelihood(phi);
            if (value > bestValue)
                (best, bestValue) = (phi, value);
        }

        (double low, double high) = (Math.Max(0, best - 0.1), Math.Min(LargestCorrelation, best + 0.1));
        double golden = (Math.Sqrt(5) - 1) / 2;
        double a = high - golden * (high - low), b = low + golden * (high - low);
        double fa = Likelihood(a), fb = Likelihood(b);
        while (high - low > 1e-6)
        {
            if (fa > fb)
            {
                (high, b, fb) = (b, a, fa);
                a = high - golden * (high - low);
                fa = Likelihood(a);
            }
            else
            {
                (low, a, fa) = (a, b, fb);
                b = low + golden * (high - low);
                fb = Likelihood(b);
            }
        }

        double correlation = (low + high) / 2;
        bool above = correlation > 1e-5;
        double value0 = Likelihood(above ? correlation : 0);
        return new Estimate(above ? correlation : 0, above && value0 - zero > SignificantDrop, variance);
    }

    /// <summary>Degrees of freedom of a standard uncertainty that was enlarged for an estimated correlation.</summary>
    /// <remarks>The error of the correlation's estimate makes that of the standard uncertainty larger, as fewer points would:
    /// var(ln u) = 1/(2 dof) + 1/(n (1 - phi^2)), the second part from u ~ sqrt((1 + phi)/(1 - phi)) and var(phi) = (1 - phi^2)/n.</remarks>
    /// <param name="degreesOfFreedom">Points minus parameters.</param>
    /// <param name="n">Points.</param>
    /// <param name="phi">Correlation of neighbours; 0 for none.</param>
    public static double EffectiveDegreesOfFreedom(int degreesOfFreedom, int n, double phi) =>
        phi > 0 ? 1 / ((1.0 / degreesOfFreedom) + (2 / (n * (1 - (phi * phi))))) : degreesOfFreedom;

    /// <summary>Covariance of parameters that were estimated by plain least squares although the noise is correlated.</summary>
    /// <remarks>
    /// G J'VJ G with G the inverse of J'J and V the correlation matrix of the noise. The estimates stay those of plain least squares:
    /// generalised least squares would gain a few per cent of scatter, but with a correlation near 1, which a wrong model gives, it lets
    /// the curve leave all points on one side.
    /// </remarks>
    /// <param name="problem">The problem.</param>
    /// <param name="estimate">The full parameters.</param>
    /// <param name="inverseGram">G.</param>
    /// <param name="noise">The noise.</param>
    public static double[,] Covariance(EnvelopeProblem problem, double[] estimate, double[,] inverseGram, Estimate noise)
    {
        int n = problem.Points.Count, p = problem.Free.Count;
        double[] jacobian = new double[n * p];
        problem.WithCorrelation(0).Residuals(problem.FreePart(estimate), new double[n], jacobian);
        return Covariance(problem.Points, n, jacobian, inverseGram, noise);
    }

    /// <summary>The same from the derivatives of the residuals.</summary>
    /// <param name="points">The points.</param>
    /// <param name="n">Number of residuals: the points' and independent ones that may follow them.</param>
    /// <param name="jacobian">Their derivatives, column after column.</param>
    /// <param name="inverseGram">G.</param>
    /// <param name="noise">The noise.</param>
    public static double[,] Covariance(FitPoints points, int n, double[] jacobian, double[,] inverseGram, Estimate noise)
    {
        int p = jacobian.Length / n, rows = points.Count;
        double[,] middle = new double[p, p];
        double[] correlated = new double[n];
        for (int j = 0; j < p; j++)
        {
            jacobian.AsSpan(j * n, n).CopyTo(correlated);
            points.Correlate(jacobian.AsSpan(j * n, rows), correlated.AsSpan(0, rows), noise.Correlation);
            for (int k = 0; k < p; k++)
            {
                for (int i = 0; i < n; i++)
                    middle[k, j] += jacobian[k * n + i] * correlated[i];
            }
        }

        double[,] covariance = new double[p, p];
        for (int a = 0; a < p; a++)
        {
            for (int d = 0; d < p; d++)
            {
                for (int b = 0; b < p; b++)
                {
                    for (int c = 0; c < p; c++)
                        covariance[a, d] += inverseGram[a, b] * middle[b, c] * inverseGram[c, d] * noise.Variance;
                }
            }
        }

        return covariance;
    }
}
