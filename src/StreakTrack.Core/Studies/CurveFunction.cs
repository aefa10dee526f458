namespace StreakTrack.Core.Studies;

/// <summary>A curve with parameters.</summary>
/// <param name="x">Abscissa.</param>
/// <param name="parameters">The parameters.</param>
/// <param name="gradient">Receives the derivatives by the parameters; empty when they are not wanted.</param>
/// <returns>The ordinate; NaN where the curve is not defined for these parameters.</returns>
internal delegate double CurveFunction(double x, ReadOnlySpan<double> parameters, Span<double> gradient);
