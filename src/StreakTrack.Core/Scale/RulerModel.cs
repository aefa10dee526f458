namespace StreakTrack.Core.Scale;

/// <summary>The maps between the place s along the ruler's axis in the picture and the reading X.</summary>
public enum RulerModel
{
    /// <summary>X = a s + b: the camera looks squarely at the ruler.</summary>
    Linear,

    /// <summary>X = (a s + b) / (1 + c s): perspective along the ruler.</summary>
    Projective,

    /// <summary>The projective map of the place freed from a cubic lens term k (s - s0)^3 about the picture's centre.</summary>
    ProjectiveWithLens,
}
