using System.Text.Json;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.Tests.Records;

public class RecordJsonTests
{
    private static readonly AnalysisRecord Example = new()
    {
        RecordVersion = AnalysisRecord.CurrentVersion,
        Program = new ProgramRecord("streaktrack", "1.2.3", ".NET", null),
        SeriesFile = new SeriesFileRecord("swing.csv", "00ff", 3),
        Marks = [new MarkRecord(19.473, 390.1, 70)],
        Options = new AnalysisOptions { FrequencyHz = 1 / 3.0, ExcludedFrames = [3, 4] },
        Result = new ResultRecord
        {
            Series = new SeriesRecord { Frames = 3, UsableFrames = 2, Sha256 = "aa" },
            Fit = new FitRecord
            {
                Model = "decay",
                Statement = "A single exponential is enough.",
                Parameters = new Dictionary<string, ParameterRecord> { ["tau_s"] = new(0.1 + 0.2, 1e-17, [null, 2.5], null) },
                Stop = "Converged",
                Converged = true,
                Points = 3,
                DegreesOfFreedom = 1,
                ResidualRmsMm = double.NaN,
                WindowS = [0, 1],
            },
            Oscillator = new Dictionary<string, QuantityRecord> { ["q"] = new(250, null) },
            Findings = [FindingKinds.Saturation.With("12 frames")],
        },
    };

    [Fact]
    public void A_record_reads_back_bit_for_bit()
    {
        string text = RecordJson.Write(Example);
        AnalysisRecord back = RecordJson.Parse(text, "record.json");

        Assert.Equal(0.1 + 0.2, back.Result.Fit!.Parameters["tau_s"].Value);
        Assert.Equal(1 / 3.0, back.Options.FrequencyHz);
        Assert.Equal(text, RecordJson.Write(back));
    }

    [Fact]
    public void Names_that_others_rely_on_stand_in_the_file()
    {
        using JsonDocument document = JsonDocument.Parse(RecordJson.Write(Example));
        JsonElement result = document.RootElement.GetProperty("result");
        JsonElement tau = result.GetProperty("fit").GetProperty("parameters").GetProperty("tau_s");

        Assert.Equal("decay", result.GetProperty("fit").GetProperty("model").GetString());
        Assert.Equal(1e-17, tau.GetProperty("standard_uncertainty").GetDouble());
        Assert.Equal(JsonValueKind.Null, tau.GetProperty("interval95")[0].ValueKind);
        Assert.Equal(2.5, tau.GetProperty("interval95")[1].GetDouble());
        Assert.Equal(250, result.GetProperty("oscillator").GetProperty("q").GetProperty("value").GetDouble());
        JsonElement finding = result.GetProperty("findings")[0];
        Assert.Equal("saturation", finding.GetProperty("code").GetString());
        Assert.Equal("warning", finding.GetProperty("severity").GetString());
        Assert.Equal("12 frames", finding.GetProperty("message").GetString());
        Assert.NotEmpty(finding.GetProperty("advice").GetString()!);
    }

    [Fact]
    public void A_number_that_does_not_exist_is_null()
    {
        Assert.Contains("\"residual_rms_mm\": null", RecordJson.Write(Example), StringComparison.Ordinal);
        Assert.True(double.IsNaN(RecordJson.Parse(RecordJson.Write(Example), "r").Result.Fit!.ResidualRmsMm));
    }

    [Fact]
    public void A_record_of_a_newer_version_says_so()
    {
        string newer = RecordJson.Write(Example with { RecordVersion = AnalysisRecord.CurrentVersion + 1 });

        var error = Assert.Throws<UnusableInputException>(() => RecordJson.Parse(newer, "record.json"));
        Assert.Contains("Update StreakTrack", error.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("")]
    [InlineData("[]")]
    [InlineData("{}")]
    [InlineData("{\"record_version\": \"one\"}")]
    [InlineData("{\"record_version\": 1}")]
    [InlineData("{\"record_version\": 1, \"options\": 3}")]
    [InlineData("null")]
    public void A_file_that_is_no_record_is_refused(string text)
    {
        var error = Assert.Throws<UnusableInputException>(() => RecordJson.Parse(text, "x.json"));
        Assert.StartsWith("x.json: ", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Every_record_cut_short_is_refused_with_the_place()
    {
        string text = RecordJson.Write(Example);
        for (int length = 1; length < text.Length - 2; length += 37)
        {
            var error = Assert.Throws<UnusableInputException>(() => RecordJson.Parse(text[..length], "x.json"));
            Assert.Contains("damaged in line", error.Message, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void The_table_of_findings_names_each_code_once_and_leaves_nothing_blank()
    {
        Assert.Equal(FindingKinds.All.Count, FindingKinds.All.Select(k => k.Code).Distinct().Count());
        Assert.All(FindingKinds.All, kind =>
        {
            Assert.Matches("^[a-z]+(-[a-z]+)*$", kind.Code);
            Assert.EndsWith(".", kind.Meaning, StringComparison.Ordinal);
            Assert.EndsWith(".", kind.Advice, StringComparison.Ordinal);
        });
        int declared = typeof(FindingKinds).GetProperties().Count(p => p.PropertyType == typeof(FindingKind));
        Assert.Equal(declared, FindingKinds.All.Count);
    }
}
