using StreakTrack.Core.Records;
using StreakTrack.Core.Submissions;
using StreakTrack.Core.Tests.Records;

namespace StreakTrack.Core.Tests.Submissions;

public class RecordComparisonTests
{
    private static readonly AnalysisRecord Filled = FilledRecord.Make();

    [Fact]
    public void A_record_without_a_fit_is_reproduced_where_the_re_run_finds_none_either() =>
        Assert.Equal(Verdict.Reproduced, RecordComparison.Compare(WithoutFit(Filled), WithoutFit(Filled)).Verdict);

    [Fact]
    public void A_fit_on_one_side_only_differs()
    {
        Assert.Equal(Verdict.Differs, RecordComparison.Compare(WithoutFit(Filled), Filled).Verdict);
        Assert.Equal(Verdict.Differs, RecordComparison.Compare(Filled, WithoutFit(Filled)).Verdict);
    }

    [Fact]
    public void A_difference_within_the_re_runs_uncertainty_counts_for_another_version_only()
    {
        AnalysisRecord rerun = WithFirstParameter(2.0), edited = WithFirstParameter(2.04);

        Assert.Equal(Verdict.Differs, RecordComparison.Compare(edited, rerun).Verdict);
        Assert.Equal(Verdict.ReproducedWithinUncertainty, RecordComparison.Compare(edited with { Program = edited.Program with { Version = "0.0.1" } }, rerun).Verdict);
    }

    [Fact]
    public void An_edited_number_of_a_sweep_differs()
    {
        AnalysisRecord swept = Filled with { Result = Filled.Result with { Fit = null } };
        SweepRecord sweep = swept.Result.Sweep!;
        (string name, QuantityWithInterval parameter) = sweep.Parameters.First();

        Assert.Equal(Verdict.Reproduced, RecordComparison.Compare(swept, swept).Verdict);
        Assert.All<SweepRecord>(
            [
                sweep with { Parameters = new Dictionary<string, QuantityWithInterval>(sweep.Parameters) { [name] = parameter with { Value = 1.6 } } },
                sweep with { Plateaus = [sweep.Plateaus[0] with { AmplitudeMm = 1.6 }, .. sweep.Plateaus.Skip(1)] },
                sweep with { Plateaus = [] },
                sweep with { Response = "another" },
            ],
            edited => Assert.Equal(
                Verdict.Differs, RecordComparison.Compare(swept with { Result = swept.Result with { Sweep = edited } }, swept).Verdict));
        Assert.Equal(Verdict.Differs, RecordComparison.Compare(Filled with { Result = Filled.Result with { Sweep = null } }, swept).Verdict);
    }

    // Within the expanded uncertainty, as for E_n; the standard uncertainty is 0.1.
    [Theory]
    [InlineData(2.19, Verdict.ReproducedWithinUncertainty)]
    [InlineData(2.21, Verdict.Differs)]
    public void Within_uncertainty_is_within_twice_the_re_runs_standard_uncertainty(double stated, Verdict verdict)
    {
        AnalysisRecord record = WithFirstParameter(stated);

        Assert.Equal(verdict, RecordComparison.Compare(record with { Program = record.Program with { Version = "0.0.1" } }, WithFirstParameter(2.0)).Verdict);
    }

    private static AnalysisRecord WithFirstParameter(double value)
    {
        FitRecord fit = Filled.Result.Fit!;
        (string name, ParameterRecord parameter) = fit.Parameters.First();
        var changed = new Dictionary<string, ParameterRecord>(fit.Parameters) { [name] = parameter with { Value = value, StandardUncertainty = 0.1 } };
        return Filled with { Result = Filled.Result with { Fit = fit with { Parameters = changed } } };
    }

    private static AnalysisRecord WithoutFit(AnalysisRecord record) => record with { Result = record.Result with { Fit = null, Sweep = null } };
}
