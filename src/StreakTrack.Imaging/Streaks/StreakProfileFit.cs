namespace StreakTrack.Imaging.Streaks;

/// <summary>A fitted profile.</summary>
/// <param name="Parameters">The estimates.</param>
/// <param name="HalfLengthUncertaintyPx">Standard uncertainty of the half length, in px.</param>
/// <param name="ReducedChiSquare">Weighted squared residuals over degrees of freedom.</param>
/// <param name="Converged">Whether the iteration came to rest.</param>
internal readonly record struct StreakProfileFit(
    StreakProfileParameters Parameters, double HalfLengthUncertaintyPx, double ReducedChiSquare, bool Converged);
