namespace StreakTrack.Core.Fitting;

/// <summary>What not knowing the model adds to the uncertainty of the decay time.</summary>
/// <remarks>
/// Each rival i has the Akaike weight w_i = exp(-Delta_i/2)/sum exp(-Delta/2) and the decay time tau_i. The uncertainty added is the root of
/// sum w_i (tau_i - tau)^2: the part between the models of the unconditional variance of Burnham and Anderson (Sociol. Methods Res. 33 (2004)
/// 261, from memory), taken about the decay time that is reported. The part within the model is that of the reported fit. How often intervals
/// made so hold the truth is in docs/validation.md.
/// </remarks>
internal static class ModelChoice
{
    /// <summary>Standard uncertainty of tau from the choice among the rivals, in s; 0 where there is one model only.</summary>
    /// <param name="fit">The fit that is reported, with its rivals.</param>
    /// <param name="penaltyOf">
    /// What else than the points speaks for a rival: the largest difference of the criterion that is held against it; null for the
    /// criterion alone.
    /// </param>
    public static double TauUncertaintySeconds(EnvelopeFit fit, Func<RivalModel, double>? penaltyOf = null)
    {
        if (fit.Parameter(EnvelopeParameters.Tau) is not { } tau)
            return 0;
        double weights = 0, spread = 0;
        foreach (RivalModel rival in fit.Rivals)
        {
            // At its bound a rival is the simpler model again; one that does not bound tau says nothing about it.
            bool says = !rival.IsAtBound && rival.TauUncertaintySeconds < rival.TauSeconds / 2;
            double difference = Math.Min(rival.DeltaAicc, penaltyOf?.Invoke(rival) ?? double.PositiveInfinity);
            if (!says || difference > FitStatement.Decisive)
                continue;
            double weight = Math.Exp(-Math.Max(0, difference) / 2);
            double distance = rival.Model == fit.ModelName && rival.Formula == fit.Model!.Formula ? 0 : rival.TauSeconds - tau.Value;
            weights += weight;
            spread += weight * distance * distance;
        }

        return weights > 0 ? Math.Sqrt(spread / weights) : 0;
    }
}
