using System.Text.Json;
using System.Text.Json.Nodes;
using Json.Schema;
using StreakTrack.Core.Records;
using StreakTrack.Core.References;
using StreakTrack.Core.Tests.Records;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Core.Tests.References;

public class ReferenceTests
{
    private static readonly string SchemaPath = Path.Combine(Fixtures.RepositoryRoot, "docs", "reference.schema.json");
    private static readonly ProgramRecord Program = new("StreakTrack", "1.0", ".NET", null);

    [Fact]
    public void What_runs_have_in_common_does_not_shrink_with_their_number()
    {
        InstrumentReference reference = ReferenceBuilder.FromRuns([.. Enumerable.Range(0, 50).Select(i => Run(2 + (0.001 * (i % 2)), 0.002, 0.01, i))], "a", null, Program);

        ReferenceSetting setting = Assert.Single(reference.Settings);
        Assert.InRange(setting.TauS.StandardUncertainty!.Value, 0.01, 0.0101);
        Assert.Equal(0, setting.BetweenRunDeviationS);
    }

    [Fact]
    public void The_tolerance_of_few_runs_has_the_factor_of_their_degrees_of_freedom()
    {
        double[] taus = [2.00, 2.05, 1.95, 2.10];
        ReferenceSetting setting = Assert.Single(ReferenceBuilder.FromRuns([.. taus.Select((t, i) => Run(t, 0.0001, 0, i))], "a", null, Program).Settings);

        // Beside the scatter the runs' own uncertainties are nothing: mean and standard deviation of four numbers, t for 3 degrees of freedom 3.182.
        double s = Math.Sqrt(taus.Sum(t => Math.Pow(t - taus.Average(), 2)) / 3);
        Assert.Equal(3.182, setting.CoverageFactor, 0.001);
        Assert.Equal(s * Math.Sqrt(1.25), setting.ToleranceStandardUncertaintyS, 1e-5);
        Assert.Equal(taus.Average() + (3.182 * s * Math.Sqrt(1.25)), setting.ToleranceTauS[1], 1e-4);
    }

    [Fact]
    public void A_run_that_no_other_agrees_with_is_named()
    {
        double[] taus = [2.00, 2.02, 1.98, 2.01, 2.60, 1.99];
        InstrumentReference reference = ReferenceBuilder.FromRuns([.. taus.Select((t, i) => Run(t, 0.005, 0, i))], "a", null, Program);

        Assert.Contains("run4", Assert.Single(reference.Findings, f => f.Code == "run-stands-out").Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_single_run_says_that_the_scatter_is_not_known() =>
        Assert.Contains(ReferenceBuilder.FromRuns([Run(2, 0.01, 0.01, 0)], "a", null, Program).Findings, f => f.Code == "between-runs-unknown");

    [Fact]
    public void The_same_file_twice_is_refused() =>
        Assert.Throws<UnusableInputException>(() => ReferenceBuilder.FromRuns([Run(2, 0.01, 0, 1), Run(2, 0.01, 0, 1)], "a", null, Program));

    [Fact]
    public void Submissions_are_held_against_the_tolerance_with_their_own_uncertainty()
    {
        InstrumentReference reference = ReferenceBuilder.FromParameters(new ReferenceParameters(new(2, 0.03), 0.04, new(38.9, 0)), "a", Program);
        ReferenceTarget target = ReferenceTarget.Of(reference, null, "ref");

        // U of the reference 1.96 sqrt(0.03² + 0.04²) = 0.098; U stated 2 · 0.05 = 0.1; (2.28 - 2)/sqrt(0.098² + 0.1²) = 2.000.
        Assert.Equal(2.0, target.Hold(new QuantityRecord(2.28, 0.05)).NormalisedError!.Value, 0.001);
        Assert.Equal("reference-disagrees", target.Hold(new QuantityRecord(2.28, 0.05)).Remark!.Code);
        Assert.Null(target.Hold(new QuantityRecord(2.1, 0.05)).Remark);
        Assert.Equal(Math.PI * 38.9 * 2, reference.Settings[0].Quantities["q"].Value, 1e-9);
    }

    [Fact]
    public void Of_several_settings_one_must_be_named()
    {
        InstrumentReference reference = Two();

        Assert.Contains("0, 0.2", Assert.Throws<UnusableInputException>(() => ReferenceTarget.Of(reference, null, "ref")).NextStep, StringComparison.Ordinal);
        Assert.Throws<UnusableInputException>(() => ReferenceTarget.Of(reference, 0.3, "ref"));
        Assert.Equal(1.5, ReferenceTarget.Of(reference, 0.2, "ref").Setting.TauS.Value, 1e-12);
    }

    [Fact]
    public void What_is_written_is_read_back_and_fits_the_published_schema()
    {
        string expected = ReferenceJson.Schema(new XmlSummaries(typeof(InstrumentReference).Assembly).Of);
        if (Environment.GetEnvironmentVariable("STREAKTRACK_WRITE_DOCS") == "1")
            File.WriteAllText(SchemaPath, expected);
        Assert.Equal(expected, File.ReadAllText(SchemaPath));

        string text = ReferenceJson.Write(Two()), path = Path.GetTempFileName();
        File.WriteAllText(path, text);
        Assert.Equal(text, ReferenceJson.Write(ReferenceJson.Read(path)));
        File.Delete(path);
        JsonSchema schema = JsonSchema.FromText(expected);
        Assert.True(schema.Evaluate(JsonSerializer.SerializeToElement(JsonNode.Parse(text))).IsValid);
        JsonNode wrong = JsonNode.Parse(text)!;
        wrong["settings"]![0]!["tau_s"] = "two seconds";
        Assert.False(schema.Evaluate(JsonSerializer.SerializeToElement(wrong)).IsValid);
    }

    [Theory]
    [InlineData("{ \"reference_version\": 2 }", "version 2")]
    [InlineData("{ \"record_version\": 2 }", "no StreakTrack reference")]
    [InlineData("{ \"reference_version\": 1, ", "damaged")]
    [InlineData("[]", "no StreakTrack reference")]
    public void Files_that_are_no_reference_say_why(string text, string problem)
    {
        string path = Path.GetTempFileName();
        File.WriteAllText(path, text);
        Assert.Contains(problem, Assert.Throws<UnusableInputException>(() => ReferenceJson.Read(path)).Message, StringComparison.Ordinal);
        File.Delete(path);
    }

    private static InstrumentReference Two() => ReferenceBuilder.FromRuns(
        [Run(2.0, 0.01, 0, 0, 0), Run(2.02, 0.01, 0, 1, 0), Run(1.98, 0.01, 0, 2, 0), Run(1.5, 0.01, 0.01, 3, 0.2)], "a", "brake_a", Program);

    private static ReferenceRun Run(double tau, double scatter, double common, int number, double? setting = null) => new()
    {
        File = $"run{number}", Sha256 = $"{number}", Model = "decay", TauS = tau, ScatterUncertaintyS = scatter, CommonUncertaintyS = common, Setting = setting,
    };
}
