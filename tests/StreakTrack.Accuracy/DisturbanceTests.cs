namespace StreakTrack.Accuracy;

/// <summary>Disturbed clips: no wrong length goes unflagged, the decay time stays right, and the remark names the disturbance.</summary>
public class DisturbanceTests
{
    // A spot's standard deviation is 0.9 mm and a pixel 0.25 mm; a frame of an undisturbed clip of this size errs by up to 0.4 mm.
    private const double LargestErrorMm = 0.6;

    // The design asks for 1 % on hard clips, or a remark that says why not.
    private const double TauError = 0.01, RemarkedTauError = 0.02;

    [Theory]
    [InlineData("undisturbed", "")]
    [InlineData("somebody walks through", "streak-hidden")]
    [InlineData("a hand over one end", "streak-hidden")]
    [InlineData("streak leaves the picture", "streak-cut-off")]
    [InlineData("streak leaves the ruler", "streak-hidden")]
    [InlineData("pictures repeated", "frames-repeated")]
    [InlineData("frames dropped, uneven times", "")]
    [InlineData("held in the hand", "movement")]
    public void Disturbance_is_named_and_spoils_no_length_that_is_used(string name, string finding)
    {
        CaseResult result = CaseRunner.Run(DisturbedClips.Named(name));

        Assert.Equal("", result.Refusal);
        Assert.InRange(result.LargestErrorMm, 0, LargestErrorMm);
        double bar = finding == "streak-hidden" ? RemarkedTauError : TauError;
        Assert.InRange(result.TauError, -bar, bar);
        Assert.NotEqual(false, result.IntervalHolds);
        string[] disturbances = ["streak-hidden", "streak-cut-off", "frames-repeated", "movement", "partial-exposure"];
        Assert.Equal(finding.Length > 0 ? [finding] : [], result.Findings.Intersect(disturbances));

        // What is not disturbed is used.
        Assert.True(result.UsableFrames > 0.55 * result.Frames, $"{result.UsableFrames} of {result.Frames} frames were used.");
    }
}
