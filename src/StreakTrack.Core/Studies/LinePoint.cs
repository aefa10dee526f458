namespace StreakTrack.Core.Studies;

/// <summary>A point of a straight-line fit, with the uncertainties of both coordinates.</summary>
/// <param name="X">Abscissa, finite.</param>
/// <param name="Y">Ordinate, finite.</param>
/// <param name="XUncertainty">Standard uncertainty of X; 0 (the default) when X is exact or its uncertainty negligible.</param>
/// <param name="YUncertainty">Standard uncertainty of Y; NaN (the default) when it is not known, 0 when Y is exact.</param>
/// <param name="Correlation">Correlation coefficient of the errors of X and Y, -1 to 1. Default 0.</param>
public readonly record struct LinePoint(
    double X, double Y, double XUncertainty = 0, double YUncertainty = double.NaN, double Correlation = 0);
