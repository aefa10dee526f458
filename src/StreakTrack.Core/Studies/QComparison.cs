namespace StreakTrack.Core.Studies;

/// <summary>Q from the width of the resonance beside Q from the decay.</summary>
/// <param name="FromWidth">Q from the resonance curve.</param>
/// <param name="FromDecay">Q from the decay time: pi f0 tau, with the f0 of the curve.</param>
/// <param name="NormalizedError">
/// Their difference over its expanded uncertainty with k = 2, as interlaboratory comparisons use it: within -1 to 1 the two agree.
/// </param>
public sealed record QComparison(UncertainValue FromWidth, UncertainValue FromDecay, double NormalizedError)
{
    /// <summary>Whether the two agree within their expanded uncertainties.</summary>
    public bool Agree => Math.Abs(NormalizedError) <= 1;
}
