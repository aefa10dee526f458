namespace StreakTrack.Core.Uncertainty;

/// <summary>Result of a propagation of distributions.</summary>
public sealed record MonteCarloResult
{
    /// <summary>Name of the result.</summary>
    public required string Quantity { get; init; }

    /// <summary>Unit of the result; empty for a pure number.</summary>
    public required string Unit { get; init; }

    /// <summary>Trials made.</summary>
    public required int Trials { get; init; }

    /// <summary>Seed of the random numbers.</summary>
    public required int Seed { get; init; }

    /// <summary>Whether the results settled; null when the number of trials was given and settling was not looked at.</summary>
    public required bool? Settled { get; init; }

    /// <summary>Mean of the trials.</summary>
    public required double Estimate { get; init; }

    /// <summary>Standard deviation of the trials.</summary>
    public required double StandardUncertainty { get; init; }

    /// <summary>Coverage probability of the intervals.</summary>
    public required double CoverageProbability { get; init; }

    /// <summary>Interval with equal probability beyond either end.</summary>
    public required CoverageInterval SymmetricInterval { get; init; }

    /// <summary>Shortest interval of the coverage probability.</summary>
    public required CoverageInterval ShortestInterval { get; init; }

    /// <summary>
    /// Holds a budget against this result (JCGM 101:2008, 8): it is confirmed when both ends of its interval agree with the symmetric
    /// interval
    /// within the numerical tolerance of the standard uncertainty.
    /// </summary>
    /// <param name="budget">The budget of the same measurement at the same coverage probability.</param>
    /// <param name="significantDigits">Significant digits of the standard uncertainty that are taken seriously, 1 or 2. Default
    /// 1.</param>
    public BudgetValidation Validate(UncertaintyBudget budget, int significantDigits = 1)
    {
        double low = Math.Abs(budget.Estimate - budget.ExpandedUncertainty - SymmetricInterval.Low);
        double high = Math.Abs(budget.Estimate + budget.ExpandedUncertainty - SymmetricInterval.High);
        double tolerance = MonteCarloPropagation.NumericalTolerance(budget.CombinedStandardUncertainty, significantDigits);
        return new BudgetValidation(low, high, tolerance, low <= tolerance && high <= tolerance);
    }
}

/// <summary>Outcome of holding a budget against a propagation of distributions.</summary>
/// <param name="LowDifference">Distance of the lower ends, in the result's unit.</param>
/// <param name="HighDifference">Distance of the upper ends, in the result's unit.</param>
/// <param name="Tolerance">Largest distance that counts as agreement, in the result's unit.</param>
/// <param name="Confirmed">Whether both distances are within the tolerance.</param>
public readonly record struct BudgetValidation(double LowDifference, double HighDifference, double Tolerance, bool Confirmed);
