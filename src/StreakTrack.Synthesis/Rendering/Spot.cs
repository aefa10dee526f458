namespace StreakTrack.Synthesis.Rendering;

/// <summary>One moving spot: the beam itself, its second reflection, or the halo that the lens makes of it.</summary>
/// <param name="RestXMm">Where it rests along the scale.</param>
/// <param name="YMm">Where it lies across the scale.</param>
/// <param name="RelativeAmplitude">Its swing beside the beam's.</param>
/// <param name="SigmaAlongMm">Standard deviation along the scale, the camera's own blur included.</param>
/// <param name="SigmaAcrossMm">Standard deviation across the scale, the camera's own blur included.</param>
/// <param name="Flux">Light a second: the integral of linear level over the surface, in mm^2/s.</param>
/// <param name="MadeByLens">True for a halo, which lies over the picture and not on the ruler.</param>
internal sealed record Spot(
    double RestXMm, double YMm, double RelativeAmplitude, double SigmaAlongMm, double SigmaAcrossMm, double Flux, bool MadeByLens);
