using System.Text.Json;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Streaks;

/// <summary>Whole clips with known truth (fixtures/clips); the bars are the product's own: bias below 0.1 mm, scatter below 0.15
/// mm.</summary>
public class StreakMeasurerTests
{
    [Fact]
    public void A_clip_in_a_dark_room_is_measured_within_the_bars()
    {
        (StreakMeasurement measurement, double[] errors, _) = Measure("ringdown_dark_720p30");
        WithinBars(errors, 280);
        Assert.Equal(LightChannel.Red, measurement.Channel);

        // The simulation's exposure and frequency: 33.7 Hz for 1/30 s.
        Assert.Equal(1.1233, measurement.ExposurePeriods, 0.03);
        Assert.Equal(12, measurement.Pictures.Count);
    }

    [Fact]
    public void An_upright_clip_of_ten_bits_and_variable_rate_is_measured_within_the_bars()
    {
        (_, double[] errors, _) = Measure("portrait_hevc_vfr");
        WithinBars(errors, 220);
    }

    [Fact]
    public void Exposures_of_a_part_of_a_period_are_recovered_or_set_aside()
    {
        (StreakMeasurement measurement, double[] errors, double[] pulls) = Measure("ringdown_partial_1080p60");

        // The simulation's: 36.4 Hz for 16.5 ms.
        Assert.Equal(0.6006, measurement.ExposurePeriods, 0.03);
        Assert.Contains(measurement.Findings, f => f.Code == FindingKinds.PartialExposure.Code);
        WithinBars(errors, 150, scatter: 0.25);
        Assert.InRange(pulls.Average(z => Math.Abs(z)), 0.3, 2);
    }

    private static void WithinBars(double[] errors, int leastFrames, double scatter = 0.15)
    {
        Assert.True(errors.Length >= leastFrames, $"only {errors.Length} usable frames");
        double mean = errors.Average();
        Assert.InRange(mean, -0.1, 0.1);
        Assert.InRange(Math.Sqrt(errors.Average(e => (e - mean) * (e - mean))), 0, scatter);
    }

    private static (StreakMeasurement Measurement, double[] ErrorsMm, double[] Pulls) Measure(string name)
    {
        string folder = Fixtures.PathOf("clips", name);
        ClipFacts facts = ClipFile.Inspect(Directory.GetFiles(folder, "clip.*").Single());
        RulerScale scale = RulerScaleFitter.Fit(MarksCsv.Read(Path.Combine(folder, "marks.csv")), new RulerScaleOptions());
        StreakMeasurement measurement =
            StreakMeasurer.Measure(facts, scale, new StreakOptions(), null, null, CancellationToken.None);

        using JsonDocument truth = JsonDocument.Parse(File.ReadAllText(Path.Combine(folder, "truth.json")));
        JsonElement frames = truth.RootElement.GetProperty("frames");
        Assert.Equal(frames.GetArrayLength(), measurement.Readings.Count);
        const FrameFlags unusable = FrameFlags.NoStreak | FrameFlags.PartialExposure | FrameFlags.CutOff | FrameFlags.BelowUsableRange
            | FrameFlags.ProfileFailed;
        var errors = new List<double>();
        var pulls = new List<double>();
        foreach (StreakReading reading in measurement.Readings)
        {
            if ((reading.Flags & unusable) != 0 || reading.FirstEnd is not { } first || reading.SecondEnd is not { } second)
                continue;
            double found = (scale.ReadingMmAt(second) - scale.ReadingMmAt(first)) / 2;
            double error = found - frames[reading.Frame].GetProperty("A_mm").GetDouble();
            errors.Add(error);
            pulls.Add(error / (reading.HalfLengthUncertaintyPx * scale.MillimetresPerPixelAt(first)));
        }

        return (measurement, [.. errors], [.. pulls]);
    }
}
