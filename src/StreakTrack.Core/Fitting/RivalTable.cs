namespace StreakTrack.Core.Fitting;

/// <summary>Makes the table of the models tried.</summary>
internal static class RivalTable
{
    public static IReadOnlyList<RivalModel> Of(IReadOnlyList<EnvelopeCandidate> candidates)
    {
        List<EnvelopeCandidate> converged = [.. candidates.Where(candidate => candidate.Converged)];
        double best = converged.Where(candidate => !candidate.IsAtBound).Select(candidate => candidate.Aicc)
            .DefaultIfEmpty(double.NaN).Min();
        return [.. converged.Select(Row)];

        RivalModel Row(EnvelopeCandidate candidate)
        {
            EnvelopeProblem problem = candidate.Problem;
            int n = problem.Points.Count, p = problem.Free.Count;

            // At its bound a model is the simpler one, and may differ from it by rounding.
            double difference = candidate.IsAtBound ? Math.Max(0, candidate.Aicc - best) : candidate.Aicc - best;
            double[] estimate = (candidate.Plain ?? candidate).Full;
            double squares = 0;
            for (int i = 0; i < n; i++)
                squares += Math.Pow(problem.Points.Amplitudes[i] - problem.Curve(estimate, i), 2);
            double variance = candidate.Result.SumOfSquares / Math.Max(1, n - p);
            int tau = problem.Free.ToList().IndexOf(0);
            double u = tau >= 0 && candidate.Result.InverseGram is double[,] inverse ? Math.Sqrt(inverse[tau, tau] * variance) : double.NaN;
            return new RivalModel(
                candidate.Model.Name, candidate.Model.Formula, p, candidate.Aicc, difference, Math.Sqrt(squares / n), estimate[0], u, candidate.IsAtBound);
        }
    }
}
