namespace StreakTrack.Synthesis.Scenarios;

/// <summary>Everything in the picture but the beam and the ruler.</summary>
public sealed record SceneSettings
{
    /// <summary>Light of a white surface under the room's lamps at the camera's exposure time, linear, 1 = full scale, 0 to 1. Default
    /// 0.03.</summary>
    public double AmbientLevel { get; init => field = Guard.Between(value, 0, 1); } = 0.03;

    /// <summary>Relative change of the room light from the picture's middle to its right edge, -0.9 to 0.9. Default 0.15.</summary>
    public double GradientAlong { get; init => field = Guard.Between(value, -0.9, 0.9); } = 0.15;

    /// <summary>Relative change of the room light from the picture's middle to its lower edge, -0.9 to 0.9. Default -0.1.</summary>
    public double GradientAcross { get; init => field = Guard.Between(value, -0.9, 0.9); } = -0.1;

    /// <summary>Reflectance of what lies behind the ruler, 0 to 1. Default 0.06.</summary>
    public double BackgroundReflectance { get; init => field = Guard.Between(value, 0, 1); } = 0.06;

    /// <summary>A lamp that is seen in the picture and does not move; null for none.</summary>
    public StaticLamp? Lamp { get; init; }

    /// <summary>Somebody who passes between camera and ruler; null for nobody.</summary>
    public PasserSettings? Passer { get; init; }
}
