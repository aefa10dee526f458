using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Submissions;
using StreakTrack.Core.Tests.Records;

namespace StreakTrack.Core.Tests.Submissions;

/// <summary>What is remarked on the choices behind a record that was handed in.</summary>
public class ReviewTests
{
    private static readonly AnalysisRecord Automatic = FilledRecord.Make() with { Options = new AnalysisOptions() };

    [Fact]
    public void Record_made_without_choices_has_no_remark()
    {
        Assert.Empty(ChoiceReview.Of(Automatic, Automatic));
        Assert.Empty(RecordComparison.Compare(Automatic, Automatic).Reasons);
    }

    [Fact]
    public void Window_is_named_with_its_ends()
    {
        Finding remark = Assert.Single(ChoiceReview.Of(With(new AnalysisOptions { WindowStartS = 1.5 }), Automatic));
        Assert.Equal("window-chosen", remark.Code);
        Assert.Contains("1.5 s to the end", remark.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Model_is_named_beside_the_one_that_an_automatic_run_chooses()
    {
        Finding remark = Assert.Single(ChoiceReview.Of(With(new AnalysisOptions { Model = "drag" }), Automatic));
        Assert.Equal("model-chosen", remark.Code);
        Assert.Contains($"drag was named; an automatic run chooses {Automatic.Result.Fit!.Model}", remark.Message, StringComparison.Ordinal);
        Assert.Empty(ChoiceReview.Of(With(new AnalysisOptions { Model = Automatic.Result.Fit.Model }), Automatic));
    }

    [Fact]
    public void Frames_left_out_are_counted()
    {
        Finding remark = Assert.Single(ChoiceReview.Of(With(new AnalysisOptions { ExcludedFrames = [3, 4, 9] }), Automatic));
        Assert.Equal("frames-left-out", remark.Code);
        Assert.StartsWith($"3 of {Automatic.Result.Series.Frames} frames", remark.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Decay_times_agree_as_the_standard_of_proficiency_testing_says()
    {
        // ISO/IEC 17043:2010, B.3.1.3 e: E_n = (x - X) / sqrt(U_lab^2 + U_ref^2), satisfactory up to 1 in magnitude; with U = 2 u the
        // limit for u = 0.03 s and 0.04 s is 2 * 0.05 s = 0.1 s.
        QuantityRecord reference = new(2.5, 0.04);
        (double inside, Finding? none) = ChoiceReview.Against(new QuantityRecord(2.599, 0.03), reference);
        Assert.Equal(0.99, inside, 1e-9);
        Assert.Null(none);
        (double outside, Finding? remark) = ChoiceReview.Against(new QuantityRecord(2.399, 0.03), reference);
        Assert.Equal(-1.01, outside, 1e-9);
        Assert.Equal("tau-disagrees", remark!.Code);
        Assert.Contains("E_n = -1.01", remark.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Series_that_is_not_the_clips_own_is_told()
    {
        AnalysisRecord edited = Automatic with
        {
            Result = Automatic.Result with { Series = Automatic.Result.Series with { Sha256 = new string('0', 64) } },
        };
        Assert.Contains(RecordComparison.Compare(edited, Automatic).Reasons, reason => reason.Code == "series-differs");
    }

    private static AnalysisRecord With(AnalysisOptions options) => Automatic with { Options = options };
}
