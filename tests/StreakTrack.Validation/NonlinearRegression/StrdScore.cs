using StreakTrack.Core.Fitting;

namespace StreakTrack.Validation.NonlinearRegression;

/// <summary>Correct digits of a fit: the log relative error of its worst number, at most the 11 digits that are certified.</summary>
internal sealed record StrdScore(double ParameterDigits, double DeviationDigits, double ResidualSumDigits)
{
    private const double CertifiedDigits = 11;

    public static StrdScore Of(StrdSet set, LeastSquaresResult result)
    {
        // Degrees of freedom are n - p; the header of Rat43 says 9, but its own residual standard deviation needs 15 - 4 = 11.
        double variance = result.SumOfSquares / (set.Observations - set.Certified.Length);
        double[] deviations =
        [
            .. set.Certified.Select((_, j) => result.InverseGram is double[,] inverse ? Math.Sqrt(inverse[j, j] * variance) : double.NaN),
        ];
        return new StrdScore(
            Worst(result.Parameters, set.Certified), Worst(deviations, set.CertifiedDeviations), Digits(result.SumOfSquares, set.CertifiedResidualSum));
    }

    private static double Worst(double[] found, double[] certified) => found.Zip(certified, Digits).Min();

    private static double Digits(double found, double certified)
    {
        double error = Math.Abs(found - certified) / Math.Abs(certified);
        return double.IsNaN(error) ? 0 : Math.Clamp(-Math.Log10(error), 0, CertifiedDigits);
    }
}
