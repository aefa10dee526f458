using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;

namespace StreakTrack.Core.Tests.Series;

public class SeriesBuilderTests
{
    // A ruler without perspective, 0.1 mm a pixel, whose readings fall to the right: reading = 300 - 0.1 u.
    private static readonly RulerScale Scale = RulerScaleFitter.Fit(
        [.. new[] { 500.0, 1000, 1500, 2000 }.Select(u => new RulerMark(new PicturePoint(u, 40), 300 - 0.1 * u))], new RulerScaleOptions());

    private static StreakReading Reading(double first, double second, FrameFlags flags = FrameFlags.None) => new()
    {
        Frame = 7,
        TimeSeconds = 0.25,
        FirstEnd = new PicturePoint(first, 40),
        SecondEnd = new PicturePoint(second, 40),
        ThresholdFirstEnd = new PicturePoint(first + 6, 40),
        ThresholdSecondEnd = new PicturePoint(second - 6, 40),
        HalfLengthUncertaintyPx = 0.3,
        Brightness = 12,
        Flags = flags,
    };

    [Fact]
    public void Ends_become_readings_and_half_their_distance_the_amplitude()
    {
        AmplitudeSample sample = SeriesBuilder.Build([Reading(1700, 700)], Scale)[0];

        Assert.Equal(130, sample.LeftMm, 6);
        Assert.Equal(230, sample.RightMm, 6);
        Assert.Equal(50, sample.AmplitudeMm, 6);
        Assert.Equal(50.6, sample.ThresholdAmplitudeMm, 6);
        Assert.Equal(0.03, sample.AmplitudeUncertaintyMm, 6);
        Assert.True(double.IsNaN(sample.AmplitudeMrad));
        Assert.Equal((7, 0.25, 12, FrameFlags.None), (sample.Frame, sample.TimeSeconds, sample.Brightness, sample.Flags));
    }

    // x = L tan 2 theta: 50 mm at 1000 mm is an angle of 0.5 atan(0.05) = 24.979 mrad.
    [Fact]
    public void With_a_distance_the_mirror_s_angle_is_given()
    {
        var lever = new OpticalLever(new UncertainValue(1000, 1));

        AmplitudeSample sample = SeriesBuilder.Build([Reading(1700, 700)], Scale, lever)[0];

        Assert.Equal(500 * Math.Atan(0.05), sample.AmplitudeMrad, 6);
    }

    [Fact]
    public void An_end_outside_the_marks_is_flagged_and_kept()
    {
        AmplitudeSample sample = SeriesBuilder.Build([Reading(2100, 700)], Scale)[0];

        Assert.Equal(FrameFlags.OutsideMarks, sample.Flags);
        Assert.True(sample.IsUsable);
    }

    [Fact]
    public void An_excluded_frame_keeps_its_amplitude_but_is_not_usable()
    {
        AmplitudeSample sample = SeriesBuilder.Build([Reading(1700, 700)], Scale, excludedFrames: [7])[0];

        Assert.Equal(50, sample.AmplitudeMm, 6);
        Assert.False(sample.IsUsable);
    }

    [Fact]
    public void A_frame_without_a_streak_has_no_amplitude()
    {
        AmplitudeSample sample = SeriesBuilder.Build(
            [new StreakReading { Frame = 0, TimeSeconds = 0, Flags = FrameFlags.NoStreak }], Scale)[0];

        Assert.True(double.IsNaN(sample.AmplitudeMm));
        Assert.False(sample.IsUsable);
    }
}
