using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Grading.Class;

/// <summary>The clips that the submissions are made of: short and not large, so that the class can be graded many times.</summary>
internal sealed class BaseClips(string folder)
{
    private const int WidthPx = 960;
    private const int HeightPx = 540;

    private readonly Dictionary<string, SimulatedClip> _made = [];

    /// <summary>A decay filmed well.</summary>
    public SimulatedClip Clean(int number) => Made($"clean-{number}", () => Draw(100 + number));

    /// <summary>A decay filmed badly: by hand, aslant and in a lit room.</summary>
    public SimulatedClip Hard(int number) => Made($"hard-{number}", () =>
    {
        ClipScenario drawn = Draw(200 + number);
        return drawn with
        {
            Scene = drawn.Scene with { AmbientLevel = 0.15 },
            Laser = drawn.Laser with { Level = 0.25 },
            Camera = drawn.Camera with { YawDegrees = number % 2 == 0 ? 12 : -12, ShakeRmsPx = 1, LensDistortion = -0.02 },
        };
    });

    /// <summary>A drive that is switched on.</summary>
    public SimulatedClip Rise() => Made("rise", () =>
    {
        ClipScenario drawn = Draw(301);
        return drawn with
        {
            Motion = new RiseMotion
            {
                FrequencyHz = drawn.Motion.FrequencyHz, TauSeconds = drawn.Motion.TauSeconds, PhaseRadians = drawn.Motion.PhaseRadians, SwitchTimeSeconds = 0.5, AmplitudeMm = 38,
            },
        };
    });

    /// <summary>A decay with drag beside its decay time, which a single exponential does not describe.</summary>
    public SimulatedClip Drag() => Made("drag", () =>
    {
        ClipScenario drawn = Draw(302);
        return drawn with
        {
            DurationSeconds = 5,
            Motion = new DragDecayMotion
            {
                FrequencyHz = drawn.Motion.FrequencyHz, TauSeconds = 1.5, PhaseRadians = drawn.Motion.PhaseRadians, SwitchTimeSeconds = 0.6, AmplitudeMm = 45, DragPerMmSecond = 0.03,
            },
        };
    });

    /// <summary>A ruler with the laser off.</summary>
    public SimulatedClip Dark() => Made("dark", () =>
    {
        ClipScenario drawn = Draw(303);
        return drawn with { Laser = drawn.Laser with { Level = 0 } };
    });

    /// <summary>A small picture, to be repeated until it is long.</summary>
    public SimulatedClip Small() => Made("small", () =>
    {
        ClipScenario drawn = Draw(304);
        return drawn with { Camera = drawn.Camera with { WidthPx = 640, HeightPx = 360, PxPerMm = drawn.Camera.PxPerMm * 640 / WidthPx } };
    });

    private SimulatedClip Made(string name, Func<ClipScenario> scenario)
    {
        if (!_made.TryGetValue(name, out SimulatedClip? clip))
        {
            clip = SimulatedClip.Write(scenario(), Path.Combine(folder, name));
            _made.Add(name, clip);
        }

        return clip;
    }

    private static ClipScenario Draw(int seed)
    {
        ClipScenario drawn = PracticeScenarios.Draw(PracticePreset.Clean, seed);
        double tau = drawn.Motion.TauSeconds * 0.4;
        return drawn with
        {
            Motion = drawn.Motion is DecayMotion decay ? decay with { TauSeconds = tau, SwitchTimeSeconds = 0.5 } : drawn.Motion with { TauSeconds = tau },
            DurationSeconds = Math.Round(0.5 + (3.2 * tau), 1),
            Camera = drawn.Camera with { WidthPx = WidthPx, HeightPx = HeightPx, PxPerMm = drawn.Camera.PxPerMm * WidthPx / drawn.Camera.WidthPx },
        };
    }
}
