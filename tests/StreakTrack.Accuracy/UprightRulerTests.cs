using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Accuracy;

/// <summary>A ruler that stands upright in the picture: a rolling shutter exposes the streak's places one after the other.</summary>
public class UprightRulerTests
{
    // Rows of 30 us (phones: 15 to 30, common practice, no source): 336 rows of the longest streak are read in 10 ms, a third of a period.
    [Theory]
    [InlineData(0.3, 30e-6)]
    [InlineData(0.55, 30e-6)]
    [InlineData(0.8, 30e-6)]
    [InlineData(1.2, 30e-6)]
    public void Amplitudes_and_decay_are_right_whatever_the_exposure(double periods, double rowTimeSeconds)
    {
        ClipScenario plain = DisturbedClips.Plain;
        CaseResult result = CaseRunner.Run(new AccuracyCase("upright ruler", "", plain with
        {
            Name = "upright ruler", Seed = 8300,
            Camera = plain.Camera with
            {
                WidthPx = 192, HeightPx = 520, RollDegrees = 90, RowTimeSeconds = rowTimeSeconds, ExposureSeconds = Math.Min(periods / 36.7, 1 / 30.0),
            },
        }));

        Assert.Equal("", result.Refusal);

        // What the shutter does to the light of a frame hides nothing.
        Assert.DoesNotContain("streak-hidden", result.Findings);

        // The design's bars for hard clips: tau within 1 %; a bias well below what a spot's width (sigma 0.9 mm) could be mistaken for.
        Assert.InRange(result.TauError, -0.01, 0.01);
        Assert.InRange(result.BiasMm, -0.1, 0.1);
        Assert.True(result.UsableFrames > 0.6 * result.Frames, $"{result.UsableFrames} of {result.Frames} frames were used.");
    }
}
