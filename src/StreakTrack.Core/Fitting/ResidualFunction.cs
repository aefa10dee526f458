namespace StreakTrack.Core.Fitting;

/// <summary>The residuals of a least-squares problem and their derivatives.</summary>
/// <param name="parameters">The parameters.</param>
/// <param name="residuals">Receives the residuals, model minus data, divided by each point's standard uncertainty.</param>
/// <param name="jacobian">
/// Receives the derivatives of the residuals by the parameters, column after column: the derivative of residual i by parameter j is at
/// <c>j * residuals.Length + i</c>. Empty when only the residuals are wanted.
/// </param>
/// <returns>False where the model is not defined at these parameters; the spans' contents then do not matter.</returns>
public delegate bool ResidualFunction(ReadOnlySpan<double> parameters, Span<double> residuals, Span<double> jacobian);
