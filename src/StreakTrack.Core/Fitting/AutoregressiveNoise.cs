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

    /// <summary>Drop of the log likelihood at which a correlation above 0 is significant at the 5 % level: half the 90 % quantile of chi-square.</summary>
    private const double SignificantDrop = 2.705543 / 2;

    /// <summary>The correlation one spacing apart, and whether it is significantly above 0.</summary>
    /// <param name="problem">The problem; its own correlation is disregarded.</param>
    /// <param name="estimate">The full parameters at which it is linearised.</param>
    public static (double Correlation, bool Significant) Estimate(EnvelopeProblem problem, double[] estimate)
    {
        EnvelopeProblem plain = problem.WithCorrelation(0);
        int n = problem.Points.Count, p = problem.Free.Count;
        double[] residuals = new double[n];
        double[] jacobian = new double[n * p];
        if (n <= p + 2 || !plain.Residuals(problem.FreePart(estimate), residuals, jacobian))
            return (0, false);

        double[] r = new double[n];
        double[] j = new double[n * p];
        double Likelihood(double phi)
        {
            residuals.CopyTo(r, 0);
            jacobian.CopyTo(j, 0);
            problem.Points.Whiten(r, phi);
            for (int k = 0; k < p; k++)
                problem.Points.Whiten(j.AsSpan(k * n, n), phi);
            var qr = new HouseholderQr(j, r, p);
            double rss = 0;
            for (int i = p; i < n; i++)
                rss += r[i] * r[i];
            double information = 0;
            for (int k = 0; k < p; k++)
                information += 2 * Math.Log(Math.Abs(qr.R(k, k)) * qr.ColumnNorms[k]);
            return -0.5 * ((n - p) * Math.Log(rss) + problem.Points.LogDeterminant(phi) + information);
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
        return correlation > 1e-5 ? (correlation, Math.Max(fa, fb) - zero > SignificantDrop) : (0, false);
    }
}
