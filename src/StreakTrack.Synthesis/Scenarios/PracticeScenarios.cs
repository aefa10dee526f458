using StreakTrack.Synthesis.Rendering;

namespace StreakTrack.Synthesis.Scenarios;

/// <summary>Practice clips with parameters drawn from a seed. All have a constant frame rate, so that either encoder can write them.</summary>
public static class PracticeScenarios
{
    /// <summary>A clip of one kind.</summary>
    /// <param name="preset">The kind.</param>
    /// <param name="seed">Determines everything that is drawn.</param>
    public static ClipScenario Draw(PracticePreset preset, int seed)
    {
        var random = new SeededRandom(seed, RandomStream.Practice);
        long drawn = 0;
        double Between(double least, double most) => least + (most - least) * random.Uniform(drawn++);

        double tau = Math.Round(Between(1.2, 2.8), 3), frequency = Math.Round(Between(32, 44), 2), amplitude = Math.Round(Between(30, 48), 1);
        double switchTime = Math.Round(Between(0.8, 1.8), 2);
        var decay = new DecayMotion
        {
            FrequencyHz = frequency, TauSeconds = tau, AmplitudeMm = amplitude, SwitchTimeSeconds = switchTime, PhaseRadians = Between(-3, 3),
        };
        var clean = new ClipScenario
        {
            Name = $"{preset} {seed}",
            Seed = seed,
            DurationSeconds = Math.Round(switchTime + 3.2 * tau, 1),
            Motion = decay,
            Lever = new LeverSettings { DistanceMm = Math.Round(Between(900, 1500)), RestReadingMm = Math.Round(Between(135, 165), 1) },
            Laser = new LaserSettings
            {
                SigmaAlongMm = Between(0.7, 1.1), SigmaAcrossMm = Between(0.7, 1.1), Level = Between(0.05, 0.12),
                DistanceFromEdgeMm = Between(3, 6),
            },
            Scene = new SceneSettings { AmbientLevel = Between(0.02, 0.06), BackgroundReflectance = Between(0.05, 0.2) },
            Camera = new CameraSettings { PxPerMm = Between(6.6, 7.6), RollDegrees = Between(-1, 1), RowTimeSeconds = Between(0, 15e-6) },
        };

        return preset switch
        {
            PracticePreset.Clean => clean,
            PracticePreset.Hard => Spoilt(clean, Between),
            PracticePreset.Trick => Tricky(clean, decay, Between),
            _ => throw new ArgumentOutOfRangeException(nameof(preset), preset, "There is no such kind of practice clip."),
        };
    }

    private static ClipScenario Spoilt(ClipScenario clean, Func<double, double, double> between)
    {
        bool green = between(0, 1) < 0.3, reflection = between(0, 1) < 0.3;
        return clean with
        {
            Ruler = new RulerSettings { Kind = between(0, 1) < 0.3 ? RulerKind.Steel : RulerKind.White },
            Laser = clean.Laser with
            {
                Colour = green ? LaserColour.Green : LaserColour.Red,
                Level = Math.Exp(between(Math.Log(0.08), Math.Log(0.8))),
                SecondReflection = reflection ? new SecondReflection { RelativeLevel = between(0.04, 0.12) } : null,
            },
            Scene = clean.Scene with { AmbientLevel = between(0.12, 0.4) },
            Camera = clean.Camera with
            {
                YawDegrees = between(-20, 20),
                PitchDegrees = between(-12, 12),
                ShakeRmsPx = between(0.5, 2.5),
                LensDistortion = between(-0.03, 0.01),
                ExposureSeconds = between(0.6, 1) / clean.Motion.FrequencyHz,
            },
        };
    }

    private static ClipScenario Tricky(ClipScenario clean, DecayMotion decay, Func<double, double, double> between)
    {
        double frequency = decay.FrequencyHz, tau = decay.TauSeconds, switchTime = decay.SwitchTimeSeconds, phase = decay.PhaseRadians;
        return (int)between(0, 5) switch
        {
            0 => clean with
            {
                Motion = new FlooredDecayMotion
                {
                    FrequencyHz = frequency, TauSeconds = tau, PhaseRadians = phase, SwitchTimeSeconds = switchTime,
                    AmplitudeMm = decay.AmplitudeMm, FloorMm = between(4, 8),
                },
            },
            1 => clean with
            {
                Motion = new DragDecayMotion
                {
                    FrequencyHz = frequency, TauSeconds = 1.5 * tau, PhaseRadians = phase, SwitchTimeSeconds = switchTime,
                    AmplitudeMm = decay.AmplitudeMm, DragPerMmSecond = between(0.006, 0.015),
                },
            },
            2 => clean with
            {
                Motion = new RiseMotion
                {
                    FrequencyHz = frequency, TauSeconds = tau, PhaseRadians = phase, SwitchTimeSeconds = switchTime,
                    AmplitudeMm = decay.AmplitudeMm,
                },
            },
            3 => clean with
            {
                Motion = new DetunedTransientMotion
                {
                    FrequencyHz = frequency, TauSeconds = tau, PhaseRadians = phase, SwitchTimeSeconds = switchTime,
                    AmplitudeMm = decay.AmplitudeMm / 2, DetuningHz = between(0.5, 1.4) * (between(0, 1) < 0.5 ? -1 : 1),
                },
            },
            _ => clean with
            {
                Camera = clean.Camera with
                {
                    ExposureSteps =
                    [
                        new ExposureStep { TimeSeconds = switchTime + between(0.6, 1.2) * tau, ExposureSeconds = 1 / 60.0, Gain = between(1, 2) },
                    ],
                },
            },
        };
    }
}
