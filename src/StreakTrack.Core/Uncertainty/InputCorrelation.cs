namespace StreakTrack.Core.Uncertainty;

/// <summary>The correlation of two inputs of a model.</summary>
/// <param name="First">Index of one input, from 0.</param>
/// <param name="Second">Index of the other input.</param>
/// <param name="Coefficient">Correlation coefficient of the two estimates, -1 to 1.</param>
public readonly record struct InputCorrelation(int First, int Second, double Coefficient);
