namespace StreakTrack.Core.Scale;

/// <summary>How well one map fits the marks: a row of the comparison from which the map was chosen.</summary>
/// <param name="Model">The map.</param>
/// <param name="Parameters">Number of its parameters.</param>
/// <param name="SumOfSquaresPx2">Weighted sum of squared residuals, in px^2.</param>
/// <param name="Criterion">Corrected information criterion; the smallest wins. The assumed scatter counts as three further residuals, so
/// that the criterion exists, and is not fooled by a chance fit, for few marks as well.</param>
public sealed record RulerModelScore(RulerModel Model, int Parameters, double SumOfSquaresPx2, double Criterion);
