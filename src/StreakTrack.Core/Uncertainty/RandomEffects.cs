using MathNet.Numerics;
using MathNet.Numerics.RootFinding;

namespace StreakTrack.Core.Uncertainty;

/// <summary>Repeated measurements of one quantity as a one-way random-effects model: run i gives <c>x_i = mean + b_i + e_i</c>, with the
/// scatter b between runs unknown and the uncertainty of e known for every run.</summary>
/// <remarks>
/// Variance between runs by the estimator of Paule and Mandel, J. Res. Natl. Bur. Stand. 87 (1982) 377 (from memory): the one that makes the
/// weighted squares about the weighted mean equal their degrees of freedom. For runs that are means of equally many observations it is the
/// estimate of the one-way analysis of variance, JCGM 100:2008, H.5.
/// </remarks>
/// <param name="Runs">Number of runs.</param>
/// <param name="Mean">Mean with the weights 1/(between² + u_i²); its standard uncertainty holds both.</param>
/// <param name="BetweenDeviation">Standard deviation between runs beyond their own uncertainties; 0 when those explain all scatter, NaN for a
/// single run.</param>
/// <param name="HomogeneityProbability">Probability of so large a scatter if the runs' uncertainties were all there is; NaN for a single run or
/// runs without uncertainties.</param>
public sealed record RandomEffects(int Runs, UncertainValue Mean, double BetweenDeviation, double HomogeneityProbability)
{
    /// <summary>Degrees of freedom of the scatter between runs.</summary>
    public int DegreesOfFreedom => Runs - 1;

    /// <summary>Evaluates runs.</summary>
    /// <param name="runs">At least one; each finite, with a standard uncertainty that is not negative. Uncertainties of 0 are taken for unknown,
    /// and then must be 0 for all.</param>
    /// <exception cref="ArgumentException">There is no run, or a number is outside its range.</exception>
    public static RandomEffects Of(IReadOnlyList<UncertainValue> runs)
    {
        ArgumentNullException.ThrowIfNull(runs);
        if (runs.Count == 0 || !runs.All(r => double.IsFinite(r.Value) && r.StandardUncertainty >= 0 && double.IsFinite(r.StandardUncertainty)))
            throw new ArgumentException("Needs at least one run, and finite values with uncertainties that are not negative.", nameof(runs));
        int stated = runs.Count(r => r.StandardUncertainty > 0);
        if (stated != 0 && stated != runs.Count)
            throw new ArgumentException("Either all runs have an uncertainty or none.", nameof(runs));

        if (runs.Count == 1)
            return new RandomEffects(1, runs[0], double.NaN, double.NaN);
        int freedom = runs.Count - 1;
        double plainMean = runs.Average(r => r.Value);
        double plain = runs.Sum(r => (r.Value - plainMean) * (r.Value - plainMean)) / freedom;
        if (stated == 0)
            return new RandomEffects(runs.Count, new UncertainValue(plainMean, Math.Sqrt(plain / runs.Count)), Math.Sqrt(plain), double.NaN);

        double scatter = WeightedSquares([runs], 0);
        double between2 = BetweenVariance([runs]);
        double weights = runs.Sum(r => Weight(r, between2));
        return new RandomEffects(runs.Count, new UncertainValue(WeightedMean(runs, between2), 1 / Math.Sqrt(weights)), Math.Sqrt(between2),
            SpecialFunctions.GammaUpperRegularized(freedom / 2.0, scatter / 2));
    }

    /// <summary>The variance between runs that several groups have in common, each group about its own mean.</summary>
    /// <param name="groups">Runs with positive standard uncertainties; at least one group with two.</param>
    internal static double BetweenVariance(IReadOnlyList<IReadOnlyList<UncertainValue>> groups)
    {
        int freedom = groups.Sum(g => g.Count - 1);
        if (WeightedSquares(groups, 0) <= freedom)
            return 0;
        double plain = groups.Sum(g => g.Sum(r => Math.Pow(r.Value - g.Average(o => o.Value), 2))) / freedom;
        // The weighted squares fall steadily with the added variance, and with the plain variance added they are below the degrees of freedom.
        return Brent.FindRoot(v => WeightedSquares(groups, v) - freedom, 0, 2 * plain, 1e-12 * plain, 200);
    }

    /// <summary>Squares about the groups' weighted means, each over the run's variance plus that between runs.</summary>
    internal static double WeightedSquares(IReadOnlyList<IReadOnlyList<UncertainValue>> groups, double between2) => groups.Sum(group =>
    {
        double mean = WeightedMean(group, between2);
        return group.Sum(r => Weight(r, between2) * (r.Value - mean) * (r.Value - mean));
    });

    private static double Weight(UncertainValue run, double between2) => 1 / ((run.StandardUncertainty * run.StandardUncertainty) + between2);

    private static double WeightedMean(IReadOnlyList<UncertainValue> runs, double between2) =>
        runs.Sum(r => Weight(r, between2) * r.Value) / runs.Sum(r => Weight(r, between2));
}
