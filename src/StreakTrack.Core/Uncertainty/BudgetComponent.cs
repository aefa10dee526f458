namespace StreakTrack.Core.Uncertainty;

/// <summary>One line of an uncertainty budget.</summary>
/// <param name="Input">The input.</param>
/// <param name="Sensitivity">Derivative of the result by the input, in the result's unit per unit of the input.</param>
/// <param name="Contribution">Sensitivity times standard uncertainty, in the result's unit, with the sign of the sensitivity.</param>
/// <param name="Share">
/// Part of the result's variance, 0 to 1; the shares add up to 1. With correlations half of each covariance term counts for either
/// input, and
/// a share can then be negative or above 1. 0 for all when the combined uncertainty is 0.
/// </param>
public sealed record BudgetComponent(UncertaintyInput Input, double Sensitivity, double Contribution, double Share);
