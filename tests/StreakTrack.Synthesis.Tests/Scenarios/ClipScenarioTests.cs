using StreakTrack.Synthesis.Rendering;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Tests.Scenarios;

public class ClipScenarioTests
{
    [Fact]
    public void Values_out_of_range_are_refused_by_name()
    {
        var error = Assert.Throws<ArgumentOutOfRangeException>(() => new DecayMotion { TauSeconds = -1 });
        Assert.Equal("TauSeconds", error.ParamName);
        Assert.Throws<ArgumentOutOfRangeException>(() => new LaserSettings { Level = double.NaN });
        Assert.Throws<ArgumentOutOfRangeException>(() => new CameraSettings { RotationTagDegrees = 45 });
        Assert.Throws<ArgumentException>(() => new CameraSettings { WidthPx = 641 });
        Assert.Throws<ArgumentOutOfRangeException>(() => new SteppedSweepMotion { DriveFrequenciesHz = [35, double.NaN] });
        Assert.Throws<ArgumentOutOfRangeException>(() => new SteppedSweepMotion { DriveFrequenciesHz = [] });
    }

    [Fact]
    public void Demonstration_has_a_decay_and_a_rise_that_settle_within_the_clip()
    {
        var decay = (DecayMotion)DemoScenarios.Decay.Motion;
        var rise = (RiseMotion)DemoScenarios.Rise.Motion;

        Assert.True(DemoScenarios.Decay.DurationSeconds - decay.SwitchTimeSeconds > 3 * decay.TauSeconds);
        Assert.True(DemoScenarios.Rise.DurationSeconds - rise.SwitchTimeSeconds > 4 * rise.TauSeconds);
    }

    [Theory]
    [InlineData(PracticePreset.Clean)]
    [InlineData(PracticePreset.Hard)]
    [InlineData(PracticePreset.Trick)]
    public void Practice_clips_of_any_seed_can_be_rendered_and_stay_in_the_picture(PracticePreset preset)
    {
        for (int seed = 0; seed < 40; seed++)
        {
            ClipScenario scenario = PracticeScenarios.Draw(preset, seed);
            var geometry = new CameraGeometry(scenario);
            foreach (int side in new[] { -1, 1 })
            {
                double reading = scenario.Lever.RestReadingMm + side * scenario.Motion.LargestAmplitudeMm;
                (double u, double v) = geometry.ToPicture(reading, scenario.Laser.DistanceFromEdgeMm);
                Assert.InRange(u, 20, scenario.Camera.WidthPx - 21);
                Assert.InRange(v, 20, scenario.Camera.HeightPx - 21);
            }

            Assert.NotEmpty(FrameSchedule.Of(scenario));
            Assert.Equal(scenario, PracticeScenarios.Draw(preset, seed) with { Camera = scenario.Camera });
        }
    }

    [Fact]
    public void Tricks_are_of_many_kinds()
    {
        int kinds = Enumerable.Range(0, 40)
            .Select(seed => PracticeScenarios.Draw(PracticePreset.Trick, seed).Motion.GetType()).Distinct().Count();

        // Floor, drag, rise, beats, and the plain decay with an exposure step.
        Assert.Equal(5, kinds);
    }
}
