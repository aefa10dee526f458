using System.Globalization;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Imaging.Tests.Streaks;

/// <summary>Simulated clips of what the clips under fixtures/ do not show; the truth is exact.</summary>
public sealed class SimulatedStreakTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("streaktrack-streaks-").FullName;

    private static ClipScenario Short { get; } = new()
    {
        Name = "short",
        Seed = 4711,
        DurationSeconds = 4,
        Motion = new DecayMotion { FrequencyHz = 36.7, TauSeconds = 2, AmplitudeMm = 40, SwitchTimeSeconds = 0.8 },
        Lever = new LeverSettings { DistanceMm = 1150 },
        Laser = new LaserSettings { Level = 0.05 },
        Camera = new CameraSettings { WidthPx = 640, HeightPx = 240, PxPerMm = 6 },
    };

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    // Bars of the project at 7 px/mm: bias below 0.1 mm and scatter below 0.15 mm. The spot is 1.8 times as long as broad.
    [Fact]
    public void A_spot_longer_than_broad_is_measured_with_its_own_length()
    {
        (StreakMeasurement measurement, double[] errors) = Measure(Short with
        {
            Laser = new LaserSettings { Level = 0.05, SigmaAlongMm = 1.17, SigmaAcrossMm = 0.65 },
        });

        // In px, to within what the lens blurs and speckle changes.
        Assert.InRange(measurement.SpotSigmaPx / (6 * 1.17), 0.93, 1.07);
        Assert.InRange(errors.Length, 110, 120);
        Assert.InRange(errors.Average(), -0.1, 0.1);
        Assert.InRange(Math.Sqrt(errors.Average(e => e * e)), 0, 0.18);
    }

    // An exposure of a sixth of a period shows arcs a tenth to a half as long as the swing; which part of the swing they are follows from their
    // advance, whose frequency is the swing's: 36.7 Hz, folded by 30 frames a second.
    [Fact]
    public void The_swing_and_its_frequency_are_recovered_from_short_arcs()
    {
        (StreakMeasurement measurement, double[] errors) = Measure(Short with
        {
            Camera = Short.Camera with { ExposureSeconds = 0.16 / 36.7 },
        });

        Assert.Equal(0.16, measurement.ExposurePeriods, 0.01);
        Assert.Equal(6.7, measurement.AliasFrequencyHz, 0.01);

        // Slowed down eight times, the file's frequency is an eighth of the real one.
        string[] slowed = [.. ClipAnalyzer.FindingsOf(measurement, 0.125).Where(f => f.Code == "partial-exposure").Select(f => f.Message)];
        Assert.Contains(string.Create(CultureInfo.InvariantCulture, $" {8 * measurement.AliasFrequencyHz:F3} times a second"), Assert.Single(slowed));
        Assert.InRange(errors.Length, 60, 120);
        Assert.InRange(errors.Average(), -0.35, 0.35);
    }

    private (StreakMeasurement Measurement, double[] ErrorsMm) Measure(ClipScenario scenario)
    {
        SimulatedClip clip = SimulatedClip.Write(scenario, _folder);
        RulerScale scale = RulerScaleFitter.Fit(clip.Marks, new RulerScaleOptions());
        StreakMeasurement measurement =
            StreakMeasurer.Measure(ClipFile.Inspect(clip.ClipPath), scale, new StreakOptions(), null, null, CancellationToken.None);
        AmplitudeSeries series = SeriesBuilder.Build(measurement.Readings, scale);
        double[] errors =
        [
            .. series.Where(s => s.IsUsable && clip.Truth.Frames[s.Frame].AmplitudeMm > 3 * scenario.Laser.SigmaAlongMm)
                .Select(s => s.AmplitudeMm - clip.Truth.Frames[s.Frame].AmplitudeMm),
        ];
        return (measurement, errors);
    }
}
