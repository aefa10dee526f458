namespace StreakTrack.Core.Fitting;

/// <summary>Settings of <see cref="BlockBootstrap"/>.</summary>
public sealed record BootstrapOptions
{
    /// <summary>Seed of the random numbers. Default 1.</summary>
    public int Seed { get; init; } = 1;

    /// <summary>Number of simulated series, at least 20. Default 400: the standard uncertainties then scatter by 4 %.</summary>
    public int Replicates { get; init; } = 400;

    /// <summary>
    /// Residuals that are drawn together, at least 1 and fewer than the points; null for n^(1/3), or (2 phi/(1 - phi^2))^(2/3) n^(1/3)
    /// when that is more, with the correlation phi of neighbouring residuals.
    /// </summary>
    public int? BlockLength { get; init; }
}
