namespace StreakTrack.Synthesis.Scenarios;

/// <summary>Everything that determines a simulated clip; the same scenario always gives the same pictures.</summary>
/// <remarks>Every property checks its own range when it is set; <see cref="Rendering.ClipRenderer"/> checks what concerns
/// several.</remarks>
public sealed record ClipScenario
{
    /// <summary>Name, for people.</summary>
    public required string Name { get; init; }

    /// <summary>Seed of everything drawn at random: noise, texture, tremble, frame times, clicks.</summary>
    public required int Seed { get; init; }

    /// <summary>Length of the clip, in s, 0.02 to 3600. Default 8.</summary>
    public double DurationSeconds { get; init => field = Guard.Between(value, 0.02, 3600); } = 8;

    /// <summary>What the oscillator does.</summary>
    public required OscillatorMotion Motion { get; init; }

    /// <summary>The optical lever.</summary>
    public LeverSettings Lever { get; init; } = new();

    /// <summary>The ruler.</summary>
    public RulerSettings Ruler { get; init; } = new();

    /// <summary>The beam.</summary>
    public LaserSettings Laser { get; init; } = new();

    /// <summary>The surroundings.</summary>
    public SceneSettings Scene { get; init; } = new();

    /// <summary>The camera.</summary>
    public CameraSettings Camera { get; init; } = new();

    /// <summary>The frame times.</summary>
    public TimingSettings Timing { get; init; } = new();

    /// <summary>The marks.</summary>
    public MarkSettings Marks { get; init; } = new();
}
