using System.Text.Json.Serialization;

namespace StreakTrack.Core.Records;

/// <summary>An uncertainty budget after JCGM 100:2008.</summary>
public sealed record BudgetRecord
{
    /// <summary>Name of the result: tau, Q or amplitude at the mirror.</summary>
    public required string Quantity { get; init; }

    /// <summary>Unit of the result; empty for a pure number.</summary>
    public required string Unit { get; init; }

    /// <summary>The result.</summary>
    public required double Estimate { get; init; }

    /// <summary>Its combined standard uncertainty.</summary>
    public required double CombinedStandardUncertainty { get; init; }

    /// <summary>Effective degrees of freedom after Welch and Satterthwaite; null when infinite.</summary>
    public double? EffectiveDegreesOfFreedom { get; init; }

    /// <summary>Coverage probability of the expanded uncertainty.</summary>
    public required double CoverageProbability { get; init; }

    /// <summary>Coverage factor.</summary>
    public required double CoverageFactor { get; init; }

    /// <summary>Expanded uncertainty.</summary>
    public required double ExpandedUncertainty { get; init; }

    /// <summary>One line an input.</summary>
    public required IReadOnlyList<BudgetInputRecord> Inputs { get; init; }

    /// <summary>The same measurement by the Monte Carlo method; null when it was not asked for.</summary>
    public MonteCarloRecord? MonteCarlo { get; init; }
}

/// <summary>One line of an uncertainty budget.</summary>
/// <param name="Name">The input.</param>
/// <param name="Unit">Unit of estimate and uncertainty; empty for a pure number.</param>
/// <param name="Estimate">Best estimate.</param>
/// <param name="StandardUncertainty">Standard uncertainty.</param>
/// <param name="Evaluation">A or B.</param>
/// <param name="Distribution">The distribution that stands for it: normal, rectangular, …</param>
/// <param name="DegreesOfFreedom">Degrees of freedom; null when infinite.</param>
/// <param name="Sensitivity">Derivative of the result by the input.</param>
/// <param name="Contribution">Sensitivity times standard uncertainty, in the result's unit.</param>
/// <param name="Share">Part of the result's variance, 0 to 1.</param>
/// <param name="Basis">Where the uncertainty comes from.</param>
public sealed record BudgetInputRecord(
    string Name, string Unit, double Estimate, double StandardUncertainty, string Evaluation, string Distribution,
    double? DegreesOfFreedom, double Sensitivity, double Contribution, double Share, string Basis);

/// <summary>A propagation of distributions after JCGM 101:2008.</summary>
/// <param name="Trials">Trials made.</param>
/// <param name="Seed">Seed of the random numbers.</param>
/// <param name="Settled">Whether the results settled; null when the number of trials was given.</param>
/// <param name="Estimate">Mean of the trials.</param>
/// <param name="StandardUncertainty">Their standard deviation.</param>
/// <param name="Interval95">The interval with equal probability beyond either end.</param>
/// <param name="ShortestInterval95">The shortest interval of the same probability.</param>
/// <param name="ConfirmsBudget">Whether both ends agree with those of the budget within half a unit of the first digit of the standard
/// uncertainty (JCGM 101:2008, 8).</param>
public sealed record MonteCarloRecord(
    int Trials, int Seed, bool? Settled, double Estimate, double StandardUncertainty,
    [property: JsonPropertyName("interval95")] IReadOnlyList<double> Interval95,
    [property: JsonPropertyName("shortest_interval95")] IReadOnlyList<double> ShortestInterval95, bool ConfirmsBudget);
