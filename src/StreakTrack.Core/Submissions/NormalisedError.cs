namespace StreakTrack.Core.Submissions;

/// <summary>The normalised error E_n of ISO/IEC 17043, annex B: the difference of two results over their combined expanded uncertainties; results
/// agree when its magnitude is at most 1.</summary>
public static class NormalisedError
{
    /// <summary>Coverage factor of the expanded uncertainties: about 95 % for a normal distribution.</summary>
    public const double CoverageFactor = 2;

    /// <summary>E_n = (x - X) / sqrt(U(x)² + U(X)²).</summary>
    /// <param name="stated">The result that is judged.</param>
    /// <param name="reference">The result it is held against.</param>
    /// <returns>NaN when neither uncertainty is known, or both are zero.</returns>
    public static double Of(UncertainValue stated, UncertainValue reference)
    {
        double expanded = CoverageFactor * Math.Sqrt(
            (stated.StandardUncertainty * stated.StandardUncertainty) + (reference.StandardUncertainty * reference.StandardUncertainty));
        return expanded > 0 ? (stated.Value - reference.Value) / expanded : double.NaN;
    }

    /// <summary>Whether E_n meets the criterion; not met when it is not a number.</summary>
    public static bool Agrees(double normalisedError) => Math.Abs(normalisedError) <= 1;
}
