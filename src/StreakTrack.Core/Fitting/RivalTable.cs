namespace StreakTrack.Core.Fitting;

/// <summary>Makes the table of the models tried.</summary>
internal static class RivalTable
{
    public static IReadOnlyList<RivalModel> Of(IReadOnlyList<EnvelopeCandidate> candidates)
    {
        double best = candidates.Where(candidate => candidate.Converged).Select(candidate => candidate.Aicc).DefaultIfEmpty(double.NaN).Min();
        return [.. candidates.Select(Row)];

        RivalModel Row(EnvelopeCandidate candidate)
        {
            EnvelopeProblem problem = candidate.Problem;
            int n = problem.Points.Count, p = problem.Free.Count;
            double squares = 0;
            for (int i = 0; i < n; i++)
                squares += Math.Pow(problem.Points.Amplitudes[i] - problem.Curve(candidate.Full, i), 2);
            double variance = candidate.Result.SumOfSquares / Math.Max(1, n - p);
            int tau = problem.Free.ToList().IndexOf(0);
            double u = tau >= 0 && candidate.Result.InverseGram is double[,] inverse ? Math.Sqrt(inverse[tau, tau] * variance) : double.NaN;
            return new RivalModel(
                candidate.Model.Name, p, candidate.Aicc, candidate.Aicc - best, Math.Sqrt(squares / n), candidate.Full[0], u, candidate.Converged,
                candidate.IsAtBound);
        }
    }
}
