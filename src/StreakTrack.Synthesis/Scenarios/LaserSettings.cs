namespace StreakTrack.Synthesis.Scenarios;

/// <summary>The beam on the ruler.</summary>
public sealed record LaserSettings
{
    /// <summary>Colour. Default red.</summary>
    public LaserColour Colour { get; init; } = LaserColour.Red;

    /// <summary>Standard deviation of the spot along the scale, in mm, 0.05 to 50. Default 0.9.</summary>
    public double SigmaAlongMm { get; init => field = Guard.Between(value, 0.05, 50); } = 0.9;

    /// <summary>Standard deviation of the spot across the scale, in mm, 0.05 to 50. Default 0.9.</summary>
    public double SigmaAcrossMm { get; init => field = Guard.Between(value, 0.05, 50); } = 0.9;

    /// <summary>Distance of the streak from the ruler's ticked edge, in mm, -1000 to 1000. Default 4.5.</summary>
    public double DistanceFromEdgeMm { get; init => field = Guard.Between(value, -1000, 1000); } = 4.5;

    /// <summary>
    /// Light in the middle of the streak on a white surface, when a whole number of periods at the motion's largest amplitude is exposed
    /// for the camera's exposure time; linear, in the beam's main colour, 1 = full scale; 0 to 100. Default 0.1. Shorter streaks are
    /// brighter in proportion, so a resting spot is usually clipped.
    /// </summary>
    public double Level { get; init => field = Guard.Between(value, 0, 100); } = 0.1;

    /// <summary>Amplitude that <see cref="Level"/> refers to, in mm, above 0; null for the motion's largest.</summary>
    public double? LevelAmplitudeMm { get; init => field = value is double v ? Guard.Between(v, 1e-3, 1000) : null; }

    /// <summary>Contrast of the speckle that the surface adds, standard deviation over mean, 0 to 0.5. Default 0.06.</summary>
    public double SpeckleContrast { get; init => field = Guard.Between(value, 0, 0.5); } = 0.06;

    /// <summary>The beam flashes; null for a steady one. <see cref="Level"/> is that of a steady beam of the same power.</summary>
    public StrobeSettings? Strobe { get; init; }

    /// <summary>A second, fainter spot from another surface of the optics; null for none.</summary>
    public SecondReflection? SecondReflection { get; init; }
}
