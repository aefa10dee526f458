namespace StreakTrack.Core.Oscillator;

/// <summary>First derivatives of the mirror's amplitude, at one amplitude on the ruler.</summary>
/// <param name="MradPerMm">By the amplitude on the ruler, in mrad/mm; about 500/L for small angles.</param>
/// <param name="MradPerDistanceMm">By the distance L along the beam, in mrad/mm; about -theta/L for small angles.</param>
/// <param name="MradPerIncidenceRad">By the incidence out of the plane of rotation, in mrad/rad; 0 at zero incidence.</param>
/// <param name="MradPerTiltRad">By the ruler's tilt, in mrad/rad; 0 for a square ruler.</param>
public readonly record struct LeverSensitivities(
    double MradPerMm, double MradPerDistanceMm, double MradPerIncidenceRad, double MradPerTiltRad);
