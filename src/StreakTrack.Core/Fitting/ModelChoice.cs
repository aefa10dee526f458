namespace StreakTrack.Core.Fitting;

/// <summary>The interval of the decay time when the model itself is not known.</summary>
/// <remarks>
/// The model is one more unknown, with few values, and is profiled over like the others: the likelihood at a decay time is the largest that
/// any rival reaches there, and the interval ends where twice its logarithm has fallen by the squared quantile. Each free parameter costs 1,
/// which is what it gains on average where it is not needed, so that a richer model does not win by being richer. This is the discrete profiling
/// of Dauncey, Kenzie, Wardle and Davies, J. Instrum. 10 (2015) P04015 (from memory). A rival that is hardly worse adds nearly
/// its own interval; one that is worse by the squared quantile adds nothing. The best of several rivals is best by chance as well, so that
/// what one as rich or richer is ahead of another is charged as one parameter more. The interval of the reported fit is contained in full.
/// Choosing a model and then taking it for known holds the truth in 29 % of series with a floor of two of its own standard deviations;
/// how often intervals made so hold it is in docs/validation.md.
/// </remarks>
internal static class ModelChoice
{
    /// <summary>What being the best of several rivals, of which none is contained in the other, gains by chance: as much as a parameter.</summary>
    private const double CostOfChoice = 1;

    /// <summary>The 95 % interval of tau over the models, in s; that of the fit where there is one model only.</summary>
    /// <param name="fit">The fit that is reported, with its rivals.</param>
    /// <param name="largestDeficitOf">
    /// What else than the points speaks for a model: how much of twice the log likelihood can at most be held against it, beside the best;
    /// null for the points alone.
    /// </param>
    public static (double Lower, double Upper) TauInterval95(EnvelopeFit fit, Func<EnvelopeModel, double>? largestDeficitOf = null)
    {
        FitParameter tau = fit.Parameter(EnvelopeParameters.Tau)!;
        EnvelopeCandidate[] rivals = [.. fit.Candidates.Where(candidate => candidate.Converged)];
        EnvelopeCandidate? own = Array.Find(rivals, candidate => candidate.Model == fit.Model);
        if (own is null || tau.IsHeld)
            return (tau.Lower95, tau.Upper95);

        double quantile = fit.Quantile95;
        // Rivals are compared as they were searched, without robust weights: only what sets them apart is carried over.
        double shift = tau.Value - own.Full[0];
        (double lower, double upper) = (tau.Lower95, tau.Upper95);
        foreach (EnvelopeCandidate rival in rivals)
        {
            bool fromRest = rival.Model is DetunedRiseModel || rival.Model == TransientModel.FromRest;
            if (rival == own || Released(rival.Model == TransientModel.FromRest ? rival.BySquaredDetuning() : rival) is not { Result.InverseGram: not null } free)
                continue;
            double deficit = Math.Min(Deficit(free, rivals), largestDeficitOf?.Invoke(rival.Model) ?? double.PositiveInfinity);
            double rise = (quantile * quantile) - Math.Max(0, deficit);
            if (!(rise > 0))
                continue;
            (double low, double high) = free.TauInterval(Math.Sqrt(rise), fit.CovarianceScaled, fit.PointCount <= EnvelopeFitter.MaxProfilePoints);

            // A model under which the points do not bound tau says nothing about it. A drive that is off resonance is another matter: no drive is
            // quite on it.
            if (!fromRest && !(low > 0 && high - low < free.Full[0]))
                continue;

            // Released from its bound, the rival leads out of the physical range on one side; the other side counts.
            bool released = rival.IsAtBound;
            if (!released || free.Full[0] > rival.Full[0])
                lower = Math.Min(lower, low + shift);
            if (!released || free.Full[0] < rival.Full[0])
                upper = Math.Max(upper, high + shift);
        }

        return (lower, upper);
    }

    /// <summary>How far twice the log likelihood of a rival lies below the others', each parameter at its cost; negative for the best.</summary>
    private static double Deficit(EnvelopeCandidate rival, IEnumerable<EnvelopeCandidate> rivals) =>
        rivals.Where(other => other.Model != rival.Model)
            .Select(other => rival.CostedDeviance - other.CostedDeviance
                - (other.Problem.Free.Count >= rival.Problem.Free.Count && !other.IsAtBound ? CostOfChoice : 0))
            .DefaultIfEmpty(0).Max();

    /// <summary>The rival with the parameter free that it was held with at its bound; null when that fit fails.</summary>
    private static EnvelopeCandidate? Released(EnvelopeCandidate rival)
    {
        if (!rival.IsAtBound)
            return rival;
        EnvelopeProblem problem = rival.Problem;
        for (int j = 0; j < problem.Model.Parameters.Count; j++)
        {
            if (!double.IsNaN(problem.Held[j]))
                problem = problem.Holding(j, double.NaN);
        }

        LeastSquaresResult result = problem.Solve(rival.Full);
        return result.Converged ? new EnvelopeCandidate(problem, result, problem.Full(result.Parameters), false) : null;
    }
}
