namespace StreakTrack.Imaging.Streaks;

/// <summary>A fitted profile.</summary>
/// <param name="Shape">The estimates.</param>
/// <param name="HalfLengthUncertaintyPx">Standard uncertainty of the half length, in px; the noise's correlation is in it.</param>
/// <param name="SigmaUncertaintyPx">The same for the spot's width; NaN where it was held.</param>
/// <param name="ReducedChiSquare">Weighted squared residuals over degrees of freedom.</param>
/// <param name="StartUncertaintyRad">Standard uncertainty of the phase at the beginning of the exposure, in rad.</param>
/// <param name="Converged">Whether the iteration came to rest.</param>
internal readonly record struct ProfileFit(
    StreakShape Shape, double HalfLengthUncertaintyPx, double SigmaUncertaintyPx, double ReducedChiSquare,
    double StartUncertaintyRad, bool Converged);
