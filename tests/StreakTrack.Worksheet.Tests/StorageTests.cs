using System.Net;
using System.Text.Json.Nodes;
using StreakTrack.Core.Records;
using StreakTrack.Imaging.Analysis;

namespace StreakTrack.Worksheet.Tests;

/// <summary>What stays when the worksheet ends.</summary>
public sealed class StorageTests
{
    private const string Stage = "measuring frame";

    private static readonly ClipWithMarks Clip = new("ringdown_dark_720p30");

    [Fact]
    public async Task A_reopened_clip_goes_on_where_it_was_without_being_measured_again_and_its_record_repeats()
    {
        using var work = new TemporaryFolder();
        var options = new WorksheetOptions { WorkFolder = work.FullPath, ClipPath = Clip.Path };
        JsonObject state, series;
        await using (OpenWorksheet first = await OpenWorksheet.StartAsync(options))
        {
            await first.ChangeAsync("/api/marks", Clip.MarksRequest());
            await first.ChangeAsync("/api/measure", []);
            await WorkFlowTests.SettledAsync(first);

            // Marks moved after the measurement, another threshold, a frame left out: all that the readings do not follow by themselves.
            JsonObject moved = Clip.MarksRequest();
            moved["marks"]![0]!["u_px"] = (double)moved["marks"]![0]!["u_px"]! + 0.3;
            await first.ChangeAsync("/api/marks", moved);
            await first.ChangeAsync("/api/options", new JsonObject { ["options"] = new JsonObject { ["threshold_fraction"] = 0.4, ["frequency_hz"] = 38.9 } });
            await first.ChangeAsync("/api/exclude", new JsonObject { ["frame"] = 11, ["exclude"] = true, ["reason"] = "shaken" });
            state = await WorkFlowTests.SettledAsync(first);
            series = await first.GetAsync("/api/series");
        }

        string record = Directory.GetFiles(work.FullPath, "record.json", SearchOption.AllDirectories).Single();
        AssertRepeats(record);

        await using (OpenWorksheet second = await OpenWorksheet.StartAsync(options))
        {
            HashSet<string> stages = [];
            JsonObject again = await second.WhenAsync(s =>
            {
                if (s["streak"]!["measuring"] is { } measuring)
                    stages.Add((string)measuring["stage"]!);
                return s["fit"] is not null && !(bool)s["is_settling"]!;
            });
            Assert.DoesNotContain(Stage, stages);
            foreach (string part in new[] { "marks", "options", "ruler", "fit", "findings" })
                Assert.True(JsonNode.DeepEquals(state[part], again[part]), $"{part} was {state[part]} and is {again[part]}");
            Assert.True(JsonNode.DeepEquals(series["amplitude_mm"], (await second.GetAsync("/api/series"))["amplitude_mm"]));
            Assert.NotEmpty((await second.GetAsync("/api/profile/5"))["model"]!.AsArray());
        }

        AssertRepeats(record);
    }

    [Fact]
    public async Task A_kept_measurement_that_is_damaged_is_not_believed_and_the_clip_is_measured_again()
    {
        using var work = new TemporaryFolder();
        var options = new WorksheetOptions { WorkFolder = work.FullPath, ClipPath = Clip.Path };
        JsonObject series;
        await using (OpenWorksheet first = await OpenWorksheet.StartAsync(options))
        {
            await first.ChangeAsync("/api/marks", Clip.MarksRequest());
            await first.ChangeAsync("/api/measure", []);
            await WorkFlowTests.SettledAsync(first);
            series = await first.GetAsync("/api/series");
        }

        string kept = Directory.GetFiles(work.FullPath, "measurement.bin", SearchOption.AllDirectories).Single();
        byte[] bytes = File.ReadAllBytes(kept);
        bytes[bytes.Length / 2] ^= 0x40;
        File.WriteAllBytes(kept, bytes);
        await using (OpenWorksheet second = await OpenWorksheet.StartAsync(options))
        {
            await WorkFlowTests.SettledAsync(second);
            Assert.True(JsonNode.DeepEquals(series["amplitude_mm"], (await second.GetAsync("/api/series"))["amplitude_mm"]));
        }

        Assert.False(File.ReadAllBytes(kept).AsSpan().SequenceEqual(bytes), "It was not made anew.");
    }

    [Fact]
    public async Task A_cancelled_measurement_leaves_the_one_before_and_the_next_one_runs()
    {
        await using OpenWorksheet sheet = await OpenWorksheet.OnAsync(Clip.Path);
        await sheet.ChangeAsync("/api/marks", Clip.MarksRequest());
        await sheet.ChangeAsync("/api/measure", []);
        (HttpStatusCode busy, JsonObject answer) = await sheet.PostAsync("/api/measure", new { version = (int)(await sheet.StateAsync())["version"]! });
        Assert.Equal(HttpStatusCode.UnprocessableEntity, busy);
        Assert.Contains("under way", (string)answer["problem"]!, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.OK, (await sheet.PostAsync("/api/measure/cancel")).Status);
        JsonObject state = await sheet.WhenAsync(s => s["streak"]!["measuring"] is null);
        Assert.Null(state["streak"]!["measured"]);
        Assert.Contains("cancelled", (string)state["streak"]!["measuring_problem"]!, StringComparison.Ordinal);

        await sheet.ChangeAsync("/api/measure", []);
        JsonObject first = await WorkFlowTests.SettledAsync(sheet);
        Assert.Null(first["streak"]!["measuring_problem"]);
        await sheet.ChangeAsync("/api/measure", []);
        await sheet.PostAsync("/api/measure/cancel");
        JsonObject second = await WorkFlowTests.SettledAsync(sheet);
        Assert.True(JsonNode.DeepEquals(first["fit"], second["fit"]));
    }

    [Fact]
    public async Task Closing_in_the_middle_of_a_measurement_ends_at_once_and_keeps_the_marks()
    {
        using var work = new TemporaryFolder();
        var options = new WorksheetOptions { WorkFolder = work.FullPath, ClipPath = Clip.Path };
        OpenWorksheet sheet = await OpenWorksheet.StartAsync(options);
        await sheet.ChangeAsync("/api/marks", Clip.MarksRequest());
        await sheet.ChangeAsync("/api/measure", []);
        await Task.Delay(100);
        long began = Environment.TickCount64;
        await sheet.DisposeAsync();
        Assert.InRange(Environment.TickCount64 - began, 0, 10_000);
        AnalysisRecord record = RecordJson.Read(Directory.GetFiles(work.FullPath, "record.json", SearchOption.AllDirectories).Single());
        Assert.Equal(Clip.Marks.Count, record.Marks.Count);
        Assert.Null(record.Result.Fit);
        Assert.Empty(Directory.GetFiles(work.FullPath, "*.unfinished", SearchOption.AllDirectories));
    }

    [Fact]
    public async Task A_record_that_cannot_be_read_is_set_aside_and_not_lost()
    {
        using var work = new TemporaryFolder();
        var options = new WorksheetOptions { WorkFolder = work.FullPath, ClipPath = Clip.Path };
        await using (OpenWorksheet first = await OpenWorksheet.StartAsync(options))
            await first.ChangeAsync("/api/marks", Clip.MarksRequest());
        string record = Directory.GetFiles(work.FullPath, "record.json", SearchOption.AllDirectories).Single();
        File.WriteAllText(record, "{ broken");
        await using OpenWorksheet second = await OpenWorksheet.StartAsync(options);
        JsonObject state = await second.StateAsync();
        Assert.Empty(state["marks"]!.AsArray());
        string aside = Directory.GetFiles(work.FullPath, "record-set-aside-*.json", SearchOption.AllDirectories).Single();
        Assert.Equal("{ broken", File.ReadAllText(aside));
        Assert.Contains(Path.GetFileName(aside), (string)state["saving_problem"]!, StringComparison.Ordinal);
    }

    // As `analyze --record` does: the clip with the marks and settings of the record, and nothing else of it.
    private static void AssertRepeats(string recordPath)
    {
        AnalysisRecord record = RecordJson.Read(recordPath);
        Assert.NotNull(record.Result.Fit);
        AnalysisRecord repeated = ClipAnalyzer.Analyze(Clip.Path, ClipAnalyzer.MarksOf(record.Marks), record.Options).Record;
        Assert.Equal(RecordJson.Write(repeated), RecordJson.Write(record));
    }
}
