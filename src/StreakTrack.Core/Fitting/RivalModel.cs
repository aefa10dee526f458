namespace StreakTrack.Core.Fitting;

/// <summary>One row of the model comparison: a model whose fit came to rest at a minimum.</summary>
/// <param name="Model">Name of the model.</param>
/// <param name="Formula">The curve; tells apart the forms of a model that share its name.</param>
/// <param name="ParameterCount">Free parameters, t0 included when it was free.</param>
/// <param name="Aicc">Corrected Akaike criterion, n ln(RSS/n) + 2nK/(n - K - 1) with K = free parameters + 1; smaller is better.</param>
/// <param name="DeltaAicc">Difference from the best of the table.</param>
/// <param name="ResidualRmsMm">Root mean square of its residuals, in mm.</param>
/// <param name="TauSeconds">Decay time by this model, in s.</param>
/// <param name="TauUncertaintySeconds">Its standard uncertainty, in s; NaN when it could not be had.</param>
/// <param name="IsAtBound">
/// Whether one of its parameters would leave its physical range; it then says no more than the model without it.
/// </param>
public sealed record RivalModel(
    string Model, string Formula, int ParameterCount, double Aicc, double DeltaAicc, double ResidualRmsMm, double TauSeconds, double TauUncertaintySeconds,
    bool IsAtBound);
