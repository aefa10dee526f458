namespace StreakTrack.Synthesis.Scenarios;

/// <summary>The two clips of the demonstration. Everything about them is invented.</summary>
public static class DemoScenarios
{
    /// <summary>A steady drive is cut after 1.3 s in a dim room.</summary>
    public static ClipScenario Decay { get; } = new()
    {
        Name = "demo-decay",
        Seed = 20_417,
        DurationSeconds = 8,
        Motion = new DecayMotion { FrequencyHz = 34.6, TauSeconds = 2.05, PhaseRadians = 0.7, AmplitudeMm = 43, SwitchTimeSeconds = 1.3 },
        Lever = new LeverSettings { DistanceMm = 1140, RestReadingMm = 142 },
        Laser = new LaserSettings { SigmaAlongMm = 0.85, SigmaAcrossMm = 0.8, Level = 0.09, DistanceFromEdgeMm = 4.3 },
        Scene = new SceneSettings { AmbientLevel = 0.045, BackgroundReflectance = 0.14 },
        Camera = new CameraSettings { PxPerMm = 7.2, RollDegrees = 0.4 },
    };

    /// <summary>A drive on resonance is switched on after 1 s.</summary>
    public static ClipScenario Rise { get; } = new()
    {
        Name = "demo-rise",
        Seed = 20_418,
        DurationSeconds = 9,
        Motion = new RiseMotion { FrequencyHz = 31.2, TauSeconds = 1.7, PhaseRadians = 2.1, AmplitudeMm = 39, SwitchTimeSeconds = 1 },
        Lever = new LeverSettings { DistanceMm = 1140, RestReadingMm = 142 },
        Laser = new LaserSettings { SigmaAlongMm = 0.85, SigmaAcrossMm = 0.8, Level = 0.11, DistanceFromEdgeMm = 4.3 },
        Scene = new SceneSettings { AmbientLevel = 0.05, BackgroundReflectance = 0.14 },
        Camera = new CameraSettings { PxPerMm = 7.6, RollDegrees = -0.3 },
    };
}
