using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Accuracy;

/// <summary>Clips that something disturbs: one disturbance at a time about a plain clip of small pictures.</summary>
internal static class DisturbedClips
{
    /// <summary>A plain ring-down of 3.5 s in small pictures, 4 px/mm.</summary>
    public static ClipScenario Plain { get; } = new()
    {
        Name = "undisturbed",
        Seed = 8200,
        DurationSeconds = 3.5,
        Motion = new DecayMotion { FrequencyHz = 36.7, TauSeconds = 1.2, AmplitudeMm = 42, SwitchTimeSeconds = 0.5, PhaseRadians = 0.4 },
        Lever = new LeverSettings { DistanceMm = 1150 },
        Laser = new LaserSettings { Level = 0.05 },
        Scene = new SceneSettings { AmbientLevel = 0.08 },
        Camera = new CameraSettings { WidthPx = 520, HeightPx = 192, PxPerMm = 4 },
    };

    /// <summary>The clips, under their scenarios' names.</summary>
    public static IReadOnlyList<AccuracyCase> All { get; } = Number(
    [
        Plain,
        Scene("somebody walks through", s => s with { Passer = new PasserSettings { TimeSeconds = 1.8, CrossingSeconds = 1.2 } }),
        Scene("a hand over one end", s => s with
        {
            // As good as at rest, an eighth of the picture broad, over the right end of the longest streak.
            Passer = new PasserSettings { TimeSeconds = -256, CrossingSeconds = 800, WidthShare = 0.12 },
        }),
        Camera("streak leaves the picture", c => c with { AimReadingMm = 117 }),
        Plain with { Name = "streak leaves the ruler", Ruler = new RulerSettings { LengthMm = 178 } },
        Plain with { Name = "pictures repeated", Timing = new TimingSettings { RepeatProbability = 0.3 } },
        Plain with
        {
            Name = "frames dropped, uneven times", Timing = new TimingSettings { JitterSeconds = 0.0008, DropProbability = 0.1 },
            Camera = Plain.Camera with { ExposureSeconds = 0.03 },
        },
        Camera("held in the hand", c => c with { ShakeRmsPx = 3 }),
        Plain with
        {
            Name = "a second reflection beside the streak",
            Laser = Plain.Laser with { SecondReflection = new SecondReflection { RelativeLevel = 0.1 } },
        },
        Camera("the camera focuses anew", c => c with
        {
            FocusPoints = [Blurred(0.8, 0), Blurred(1.1, 5), Blurred(1.6, 5), Blurred(1.9, 0)],
        }),
        Scene("a red lamp in the picture", s => s with { Lamp = new StaticLamp { RowShare = 0.25 } }),
    ]);

    /// <summary>Light that flashes at 36.2 Hz, half a hertz beside the oscillation.</summary>
    public static ClipScenario Flashing { get; } = Plain with
    {
        Name = "flashing light", Seed = Plain.Seed + 100,
        Laser = Plain.Laser with { Level = 0.3, Strobe = new StrobeSettings { FrequencyHz = 36.2 } },
    };

    /// <summary>One clip by its name.</summary>
    public static AccuracyCase Named(string name) => All.Single(c => c.Name == name);

    private static FocusPoint Blurred(double timeSeconds, double sigmaPx) => new() { TimeSeconds = timeSeconds, BlurSigmaPx = sigmaPx };

    private static ClipScenario Scene(string name, Func<SceneSettings, SceneSettings> change) =>
        Plain with { Name = name, Scene = change(Plain.Scene) };

    private static ClipScenario Camera(string name, Func<CameraSettings, CameraSettings> change) =>
        Plain with { Name = name, Camera = change(Plain.Camera) };

    // Every clip has its own noise, texture and clicks.
    private static AccuracyCase[] Number(IReadOnlyList<ClipScenario> clips) =>
        [.. clips.Select((c, i) => new AccuracyCase("disturbance", c.Name, c with { Seed = Plain.Seed + i }))];
}
