namespace StreakTrack.Core.Fitting;

/// <summary>What resampling in blocks says about the parameters of a fit.</summary>
/// <param name="Names">Names of the free parameters.</param>
/// <param name="StandardUncertainties">Standard deviation of each over the simulated series.</param>
/// <param name="Lower95">2.5 % quantile of each.</param>
/// <param name="Upper95">97.5 % quantile of each.</param>
/// <param name="BlockLength">Residuals drawn together.</param>
/// <param name="Seed">Seed of the random numbers.</param>
/// <param name="Replicates">Simulated series whose fit came to rest at a minimum.</param>
/// <param name="Failures">Simulated series whose fit did not; they are left out.</param>
public sealed record BootstrapResult(
    IReadOnlyList<string> Names, IReadOnlyList<double> StandardUncertainties, IReadOnlyList<double> Lower95, IReadOnlyList<double> Upper95,
    int BlockLength, int Seed, int Replicates, int Failures);
