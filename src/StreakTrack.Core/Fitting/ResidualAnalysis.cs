using MathNet.Numerics.Distributions;

namespace StreakTrack.Core.Fitting;

/// <summary>Tests whether residuals look like independent noise.</summary>
/// <remarks>
/// Runs: mean 2 n1 n2/n + 1, variance (mean - 1)(mean - 2)/(n - 1), no continuity correction. Durbin-Watson: sum of squared differences
/// over sum of squares; 2 for independent residuals, 0 for ones that creep. Ljung-Box: n(n + 2) sum r_k^2/(n - k) over the lags,
/// chi-square with as many degrees of freedom (Ljung and Box, Biometrika 65 (1978) 297).
/// </remarks>
public sealed record ResidualAnalysis
{
    /// <summary>Number of runs of one sign.</summary>
    public required int Runs { get; init; }

    /// <summary>Runs expected of independent residuals.</summary>
    public required double ExpectedRuns { get; init; }

    /// <summary>Deviation of the number of runs, in standard deviations; negative for too few.</summary>
    public required double RunsZ { get; init; }

    /// <summary>Two-sided probability of so large a deviation.</summary>
    public required double RunsProbability { get; init; }

    /// <summary>Durbin-Watson's statistic.</summary>
    public required double DurbinWatson { get; init; }

    /// <summary>Correlation of neighbouring residuals.</summary>
    public required double Lag1Correlation { get; init; }

    /// <summary>Lags in Ljung and Box's test.</summary>
    public required int LjungBoxLags { get; init; }

    /// <summary>Ljung and Box's statistic.</summary>
    public required double LjungBox { get; init; }

    /// <summary>Probability of a statistic at least so large for independent residuals.</summary>
    public required double LjungBoxProbability { get; init; }

    /// <summary>Analyses residuals in the order of time.</summary>
    /// <param name="residuals">At least three residuals, each divided by its standard deviation where those differ.</param>
    /// <exception cref="ArgumentException">There are fewer than three.</exception>
    public static ResidualAnalysis Of(ReadOnlySpan<double> residuals)
    {
        int n = residuals.Length;
        if (n < 3)
            throw new ArgumentException("At least three residuals are needed.", nameof(residuals));

        int positive = 0, runs = 1;
        double mean = 0, squares = 0, steps = 0;
        for (int i = 0; i < n; i++)
        {
            mean += residuals[i];
            squares += residuals[i] * residuals[i];
            positive += residuals[i] > 0 ? 1 : 0;
            if (i > 0)
            {
                runs += residuals[i] > 0 != residuals[i - 1] > 0 ? 1 : 0;
                steps += (residuals[i] - residuals[i - 1]) * (residuals[i] - residuals[i - 1]);
            }
        }

        // The mean of the deviations from it takes back what rounding left in the mean.
        mean /= n;
        double left = 0;
        foreach (double r in residuals)
            left += r - mean;
        mean += left / n;

        double expected = 2.0 * positive * (n - positive) / n + 1;
        double variance = (expected - 1) * (expected - 2) / (n - 1);
        double z = variance > 0 ? (runs - expected) / Math.Sqrt(variance) : 0;

        int lags = n > 20 ? 10 : Math.Max(1, n / 3);
        double centred = 0;
        foreach (double r in residuals)
            centred += (r - mean) * (r - mean);
        double q = 0, lag1 = 0;
        for (int lag = 1; lag <= lags; lag++)
        {
            double product = 0;
            for (int i = lag; i < n; i++)
                product += (residuals[i] - mean) * (residuals[i - lag] - mean);
            double correlation = centred > 0 ? product / centred : 0;
            lag1 = lag == 1 ? correlation : lag1;
            q += correlation * correlation / (n - lag);
        }

        q *= n * (n + 2.0);
        return new ResidualAnalysis
        {
            Runs = runs,
            ExpectedRuns = expected,
            RunsZ = z,
            RunsProbability = 2 * Normal.CDF(0, 1, -Math.Abs(z)),
            DurbinWatson = squares > 0 ? steps / squares : double.NaN,
            Lag1Correlation = lag1,
            LjungBoxLags = lags,
            LjungBox = q,
            LjungBoxProbability = MathNet.Numerics.SpecialFunctions.GammaUpperRegularized(lags / 2.0, q / 2),
        };
    }
}
