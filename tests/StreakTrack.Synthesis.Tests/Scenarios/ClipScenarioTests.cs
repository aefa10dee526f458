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
}
