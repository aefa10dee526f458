using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>The frames of a scenario: their times, exposures and the hand's tremble.</summary>
internal static class FrameSchedule
{
    /// <summary>Frame times are whole numbers of this, so that a container can state them exactly, in 1/s.</summary>
    public const int TicksPerSecond = 90_000;

    private const int TrembleTones = 14;

    /// <summary>The frames in the order of their times.</summary>
    /// <exception cref="ArgumentException">An exposure is longer than a frame.</exception>
    public static FrameExposure[] Of(ClipScenario scenario)
    {
        CameraSettings camera = scenario.Camera;
        double frameTicks = TicksPerSecond / camera.FramesPerSecond;
        double framePeriod = 1 / camera.FramesPerSecond;
        CheckExposure(camera.ExposureSeconds ?? framePeriod, framePeriod);
        foreach (ExposureStep step in camera.ExposureSteps)
            CheckExposure(step.ExposureSeconds, framePeriod);

        var jitter = new SeededRandom(scenario.Seed, RandomStream.FrameTimes);
        var repeated = new SeededRandom(scenario.Seed, RandomStream.RepeatedFrames);
        var dropped = new SeededRandom(scenario.Seed, RandomStream.DroppedFrames);
        int planned = Math.Max(1, (int)Math.Round(scenario.DurationSeconds * camera.FramesPerSecond));
        var frames = new List<FrameExposure>(planned);
        long lastTick = -1;
        for (int k = 0; k < planned; k++)
        {
            if (k > 0 && dropped.Uniform(k) < scenario.Timing.DropProbability)
                continue;

            double offset = k == 0 ? 0 : scenario.Timing.JitterSeconds * jitter.Normal(k) * TicksPerSecond;
            long tick = Math.Max((long)Math.Round(k * frameTicks + offset), lastTick + 1);
            lastTick = tick;
            double time = (double)tick / TicksPerSecond;
            ExposureStep? step = camera.ExposureSteps.LastOrDefault(s => s.TimeSeconds <= time);
            double exposure = step?.ExposureSeconds ?? camera.ExposureSeconds ?? framePeriod;
            double middle = time + exposure / 2;
            bool repeats = k > 0 && repeated.Uniform(k) < scenario.Timing.RepeatProbability;
            frames.Add(new FrameExposure(time, exposure, step?.Gain ?? 1,
                camera.DriftAlongPxPerSecond * time + Tremble(scenario, 0, middle) - Tremble(scenario, 0, 0),
                camera.DriftAcrossPxPerSecond * time + Tremble(scenario, 1, middle) - Tremble(scenario, 1, 0),
                repeats ? frames[^1].Picture : frames.Count));
        }

        return [.. frames];
    }

    private static void CheckExposure(double exposure, double framePeriod)
    {
        if (!(exposure <= framePeriod * (1 + 1e-9)))
        {
            throw new ArgumentException(FormattableString.Invariant(
                $"An exposure of {exposure:g4} s does not fit into a frame of {framePeriod:g4} s."));
        }
    }

    /// <summary>A hand's tremble: tones between 0.3 and 6 Hz whose strength falls with frequency, at seeded phases.</summary>
    private static double Tremble(ClipScenario scenario, int axis, double timeSeconds)
    {
        if (scenario.Camera.ShakeRmsPx == 0)
            return 0;

        var random = new SeededRandom(scenario.Seed, RandomStream.Tremble);
        double sum = 0, power = 0;
        for (int tone = 0; tone < TrembleTones; tone++)
        {
            int n = axis * TrembleTones + tone;
            double hz = 0.3 * Math.Pow(20, (tone + random.Uniform(2 * n)) / TrembleTones);
            double strength = 1 / Math.Sqrt(1 + hz * hz);
            sum += strength * Math.Sin(2 * Math.PI * (hz * timeSeconds + random.Uniform(2 * n + 1)));
            power += strength * strength / 2;
        }

        return scenario.Camera.ShakeRmsPx * sum / Math.Sqrt(power);
    }
}
