using System.Globalization;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Accuracy;

/// <summary>The simulated clips: one thing varied at a time about a plain clip, and clips drawn at random for the intervals.</summary>
internal static class AccuracyGrid
{
    /// <summary>A plain ring-down: dim room, 7 px/mm, an exposure of 1.2 periods, no clipping.</summary>
    public static ClipScenario Plain { get; } = new()
    {
        Name = "plain",
        Seed = 7100,
        DurationSeconds = 7.5,
        Motion = new DecayMotion { FrequencyHz = 36.7, TauSeconds = 2, AmplitudeMm = 42, SwitchTimeSeconds = 1.2, PhaseRadians = 0.4 },
        Lever = new LeverSettings { DistanceMm = 1150 },
        Laser = new LaserSettings { Level = 0.05 },
        Camera = new CameraSettings { WidthPx = 1280, HeightPx = 400, PxPerMm = 7 },
    };

    /// <summary>The group of exposures of a part of a period.</summary>
    public const string Exposures = "exposure, periods";

    /// <summary>The same of a ruler seen aslant.</summary>
    public const string SlantedExposures = "yaw 12 degrees, exposure, periods";

    private static FocusPoint Blurred(double timeSeconds, double sigmaPx) => new() { TimeSeconds = timeSeconds, BlurSigmaPx = sigmaPx };

    private static DecayMotion Decay => (DecayMotion)Plain.Motion;

    /// <summary>One thing varied at a time.</summary>
    public static IReadOnlyList<AccuracyCase> OneAtATime()
    {
        var cases = new List<AccuracyCase> { new("plain", "plain", Plain) };
        foreach (double tau in new[] { 0.6, 1, 4 })
            Add("tau, s", tau, Plain with { Motion = Decay with { TauSeconds = tau }, DurationSeconds = 1.2 + Math.Min(3.2 * tau, 9) });
        foreach (double amplitude in new[] { 12.0, 24, 80 })
            Add("amplitude, mm", amplitude, Plain with { Motion = Decay with { AmplitudeMm = amplitude } });
        foreach (double share in new[] { 0.1, 0.16, 0.3, 0.55, 0.8, 1.0 })
            Add(Exposures, share, WithCamera(c => c with { ExposureSeconds = share / 36.7 }));
        foreach (double ambient in new[] { 0.15, 0.35, 0.6 })
            Add("room light (streak 0.05)", ambient, Plain with { Scene = new SceneSettings { AmbientLevel = ambient } });
        foreach (double level in new[] { 0.01, 0.02 })
            Add("streak light (room 0.03)", level, WithLaser(l => l with { Level = level }));
        foreach (double level in new[] { 0.4, 0.8, 1.6, 4 })
            Add("clipping: streak light", level, Plain with
            {
                Laser = Plain.Laser with { Level = level }, Camera = Plain.Camera with { HaloShare = 0.03, HaloSigmaPx = 35 },
            });
        foreach (double shake in new[] { 1.0, 3, 6 })
            Add("tremble, px rms", shake, WithCamera(c => c with { ShakeRmsPx = shake }));
        Add("drift, px/s", 2, WithCamera(c => c with { DriftAlongPxPerSecond = 2, DriftAcrossPxPerSecond = -1 }));
        foreach (double yaw in new[] { 10.0, 20, 35 })
            Add("yaw, degrees", yaw, WithCamera(c => c with { YawDegrees = yaw }));
        Add("yaw 15, pitch 12, roll 2, lens", -0.03, WithCamera(
            c => c with { YawDegrees = 15, PitchDegrees = 12, RollDegrees = 2, LensDistortion = -0.03 }));
        foreach (double scale in new[] { 2.5, 4.5 })
            Add("scale, px/mm", scale, WithCamera(c => c with { PxPerMm = scale, WidthPx = 720 }));
        foreach (double sigma in new[] { 0.45, 1.8 })
            Add("spot sigma, mm", sigma, WithLaser(l => l with { SigmaAlongMm = sigma, SigmaAcrossMm = sigma }));
        foreach (double rowTime in new[] { 15e-6, 30e-6 })
            Add("row time, us", rowTime * 1e6, WithCamera(c => c with { RowTimeSeconds = rowTime }));
        Add("upright ruler, row time, us", 20, Upright(20e-6, 0.033));
        Add("second reflection", 0.1, WithLaser(l => l with { SecondReflection = new SecondReflection { RelativeLevel = 0.1 } }));
        Add("static lamp", 0.8, Plain with { Scene = new SceneSettings { Lamp = new StaticLamp { RowShare = 0.25 } } });
        Add("exposure step at 3 s, 1/30 to 1/s", 60, WithCamera(
            c => c with { ExposureSteps = [new ExposureStep { TimeSeconds = 3, ExposureSeconds = 1 / 60.0, Gain = 2 }] }));
        Add("focus goes, blur in px", 8, WithCamera(c => c with { FocusPoints = [Blurred(0, 0), Blurred(7.5, 8)] }));
        Add("focus hunts, blur in px", 6, WithCamera(
            c => c with { FocusPoints = [Blurred(2, 0), Blurred(2.4, 6), Blurred(3, 6), Blurred(3.4, 0)] }));
        Add("variable rate, dropped share", 0.05, Plain with
        {
            Timing = new TimingSettings { JitterSeconds = 0.0006, DropProbability = 0.05 },
            Camera = Plain.Camera with { ExposureSeconds = 0.031 },
        });
        Add("repeated pictures, share", 0.05, Plain with { Timing = new TimingSettings { RepeatProbability = 0.05 } });
        Add("steel ruler, green beam", 0.12, Plain with
        {
            Ruler = new RulerSettings { Kind = RulerKind.Steel, Texture = 0.08 },
            Laser = Plain.Laser with { Colour = LaserColour.Green, Level = 0.12 },
            Scene = new SceneSettings { AmbientLevel = 0.12 },
        });
        Add("no steady part, starts at", -0.3, Plain with { Motion = Decay with { SwitchTimeSeconds = -0.3 } });
        Add("floor, mm", 5, Plain with
        {
            Motion = new FlooredDecayMotion
            {
                FrequencyHz = 36.7, TauSeconds = 1.5, AmplitudeMm = 42, FloorMm = 5, SwitchTimeSeconds = 1.2,
            },
        });
        Add("rise to, mm", 42, Plain with
        {
            Motion = new RiseMotion { FrequencyHz = 36.7, TauSeconds = 1.6, AmplitudeMm = 42, SwitchTimeSeconds = 1.2 },
        });
        Add("detuned by, Hz", 0.9, Plain with
        {
            Motion = new DetunedTransientMotion
            {
                FrequencyHz = 36.7, TauSeconds = 2, AmplitudeMm = 22, DetuningHz = 0.9, SwitchTimeSeconds = 1,
            },
        });
        Add("drag, 1/(mm s)", 0.008, Plain with
        {
            Motion = new DragDecayMotion
            {
                FrequencyHz = 36.7, TauSeconds = 3, AmplitudeMm = 42, DragPerMmSecond = 0.008, SwitchTimeSeconds = 1.2,
            },
        });

        // At the end, so that the clips above keep their seeds.
        foreach (double share in new[] { 0.3, 0.55, 0.8 })
            Add("upright ruler, 20 us a row, exposure, periods", share, Upright(20e-6, share / 36.7));
        foreach (double rowTime in new[] { 15e-6, 30e-6 })
            Add("upright ruler, exposure of 0.55 periods, row time, us", rowTime * 1e6, Upright(rowTime, 0.55 / 36.7));

        foreach (double share in new[] { 0.16, 0.3, 0.62, 0.8 })
            Add(SlantedExposures, share, WithCamera(c => c with { YawDegrees = 12, ExposureSeconds = share / 36.7 }));

        foreach (int marks in new[] { 2, 11 })
        {
            foreach (double lens in new[] { -0.06, -0.1 })
            {
                Add($"{marks} marks, lens", lens, WithCamera(c => c with { HeightPx = 720, LensDistortion = lens })
                    with { Marks = new MarkSettings { Count = marks } });
            }
        }

        // Every clip has its own noise, texture and clicks.
        return [.. cases.Select((c, i) => c with { Scenario = c.Scenario with { Name = $"{c.Group} {c.Name}", Seed = 7100 + i } })];

        void Add(string group, double value, ClipScenario scenario) =>
            cases.Add(new AccuracyCase(group, value.ToString(CultureInfo.InvariantCulture), scenario));
    }

    private const int FirstSeed = 120_000;

    /// <summary>Ordinary clips with everything drawn at random, for the share of intervals that hold the truth.</summary>
    /// <remarks>Change the first seed after a rule of the streak stage was changed because of one of these clips: they are to be a blind test.</remarks>
    /// <param name="count">How many.</param>
    public static IReadOnlyList<AccuracyCase> Ordinary(int count)
    {
        var cases = new List<AccuracyCase>(count);
        for (int i = 0; i < count; i++)
        {
            var random = new Random(FirstSeed + i);
            double Between(double least, double most) => least + (most - least) * random.NextDouble();

            double tau = Between(0.8, 2.6), scale = Between(5.5, 8);
            double frequency = Between(31.5, 44);
            cases.Add(new AccuracyCase("ordinary", (i + 1).ToString(CultureInfo.InvariantCulture), Plain with
            {
                Name = $"ordinary {i + 1}",
                Seed = FirstSeed + 1000 + i,
                DurationSeconds = 1.2 + 2.8 * tau,
                Motion = new DecayMotion
                {
                    FrequencyHz = frequency, TauSeconds = tau, AmplitudeMm = Between(28, 50), SwitchTimeSeconds = Between(0.7, 1.2),
                    PhaseRadians = Between(-3, 3),
                },
                Laser = new LaserSettings
                {
                    SigmaAlongMm = Between(0.6, 1.2), SigmaAcrossMm = Between(0.6, 1.2), Level = Between(0.05, 0.2),
                    DistanceFromEdgeMm = Between(2.5, 6),
                },
                Scene = new SceneSettings { AmbientLevel = Between(0.02, 0.15) },
                Camera = Plain.Camera with
                {
                    WidthPx = 960, HeightPx = 320, PxPerMm = scale * 0.9, YawDegrees = Between(-8, 8), RollDegrees = Between(-1.5, 1.5),
                    FullWellElectrons = Between(3000, 9000),
                },
            }));
        }

        return cases;
    }

    private static ClipScenario WithCamera(Func<CameraSettings, CameraSettings> change) => Plain with { Camera = change(Plain.Camera) };

    // The streak runs along the columns, so that its rows are exposed one after the other. Phones read a row in 15 to 30 us (common practice,
    // no source).
    private static ClipScenario Upright(double rowTimeSeconds, double exposureSeconds) => WithCamera(c => c with
    {
        WidthPx = 400, HeightPx = 720, RollDegrees = 90, RowTimeSeconds = rowTimeSeconds, ExposureSeconds = exposureSeconds,
    });

    private static ClipScenario WithLaser(Func<LaserSettings, LaserSettings> change) => Plain with { Laser = change(Plain.Laser) };
}
