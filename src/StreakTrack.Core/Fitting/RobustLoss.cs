namespace StreakTrack.Core.Fitting;

/// <summary>The robust loss: squared up to a knee, logarithmic beyond, minimised by repeated weighting.</summary>
internal static class RobustLoss
{
    /// <summary>Where the loss turns from squared to logarithmic, in robust standard deviations.</summary>
    public const double Knee = 3;

    /// <summary>Rounds after which the weights have settled but for a hair, if they settle at all.</summary>
    private const int MostRounds = 50;

    /// <summary>Median absolute deviation of a unit normal distribution, inverse.</summary>
    private const double DeviationsPerMedian = 1.482602218505602;

    /// <summary>Standard deviation of residuals by their median size.</summary>
    public static double Scale(double[] residuals)
    {
        double[] sizes = [.. residuals.Select(Math.Abs).Order()];
        return DeviationsPerMedian * sizes[sizes.Length / 2];
    }

    /// <summary>Minimises the loss from where a candidate stands.</summary>
    /// <param name="plain">The candidate, with residuals taken as independent.</param>
    /// <param name="cancellationToken">Ends the work.</param>
    /// <returns>The candidate with its weights, by position in its points; the plain one with even weights where that fails.</returns>
    public static (EnvelopeCandidate Candidate, double[] Weights) Minimize(EnvelopeCandidate plain, CancellationToken cancellationToken)
    {
        FitPoints points = plain.Problem.Points;
        double[] even = new double[points.Count];
        Array.Fill(even, 1);
        double[] weights = [.. even];
        double[] residuals = plain.Problem.StandardResiduals(plain.Full);
        double scale = Scale(residuals);
        if (!(scale > 0))
            return (plain, even);

        EnvelopeCandidate robust = plain;
        for (int round = 0; round < MostRounds; round++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            double change = 0;
            for (int i = 0; i < weights.Length; i++)
            {
                double ratio = Knee * scale / Math.Max(Math.Abs(residuals[i]), 1e-300);
                double weight = Math.Min(1, ratio * ratio);
                change = Math.Max(change, Math.Abs(weight - weights[i]));
                weights[i] = weight;
            }

            FitPoints weighted = points.WithSigmas(
                [.. points.Sigmas.Zip(weights, (sigma, weight) => sigma / Math.Sqrt(weight))],
                [.. weights.Select(weight => weight < 1)]);
            robust = robust.Refit(plain.Problem.WithPoints(weighted));
            residuals = plain.Problem.StandardResiduals(robust.Full);
            scale = Scale(residuals);
            if (change < 1e-9)
                break;
        }

        return robust.Converged ? (robust, weights) : (plain, even);
    }
}
