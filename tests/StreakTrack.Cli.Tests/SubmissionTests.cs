using System.IO.Compression;
using System.Text.Json.Nodes;
using StreakTrack.Core.Submissions;

namespace StreakTrack.Cli.Tests;

/// <summary>Submissions with known faults, made from one simulated clip.</summary>
public sealed class SubmissionTests(SubmissionTests.Submitted submitted) : IClassFixture<SubmissionTests.Submitted>, IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task An_untouched_submission_is_reproduced()
    {
        Judgement judgement = await VerifyAsync(0, Submission("student-a", submitted.RecordText));

        Assert.Equal(Verdict.Reproduced, judgement.Verdict);
        Assert.Empty(judgement.Reasons);
        Assert.Equal(0, judgement.NormalisedError);
    }

    [Fact]
    public async Task A_zip_is_judged_like_its_folder()
    {
        string zip = _folder.PathOf("student-a.zip");
        ZipFile.CreateFromDirectory(Submission("student-a", submitted.RecordText), zip, CompressionLevel.Fastest, includeBaseDirectory: true);

        Assert.Equal(Verdict.Reproduced, (await VerifyAsync(0, zip)).Verdict);
    }

    [Theory]
    [InlineData(1.05)]
    [InlineData(1.001)]
    public async Task An_edited_number_is_seen_however_small(double factor)
    {
        JsonNode record = JsonNode.Parse(submitted.RecordText)!;
        JsonNode tau = record["result"]!["fit"]!["parameters"]!["tau_s"]!;
        tau["value"] = factor * tau["value"]!.GetValue<double>();

        Judgement judgement = await VerifyAsync(1, Submission("student-b", record.ToJsonString()));

        Assert.Equal(Verdict.Differs, judgement.Verdict);
        Assert.Contains(judgement.Reasons, r => r.Code == "numbers-differ" && r.Message.Contains("tau_s", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_record_of_other_clip_and_version_is_reproduced_within_its_uncertainty()
    {
        JsonNode record = JsonNode.Parse(submitted.RecordText)!;
        record["clip"]!["sha256"] = new string('0', 64);
        JsonNode tau = record["result"]!["fit"]!["parameters"]!["tau_s"]!;
        tau["value"] = tau["value"]!.GetValue<double>() + (0.3 * tau["standard_uncertainty"]!.GetValue<double>());

        Judgement judgement = await VerifyAsync(0, Submission("student-c", record.ToJsonString()));

        Assert.Equal(Verdict.ReproducedWithinUncertainty, judgement.Verdict);
        Assert.Contains(judgement.Reasons, r => r.Code == "clip-differs");
    }

    [Theory]
    [InlineData(2.54, -1, "scale-factor")]
    [InlineData(0.1, -1, "scale-factor")]
    [InlineData(1, 2, "mark-misread")]
    public async Task Readings_that_disagree_with_the_ticks_are_named(double factor, int misread, string code)
    {
        string[] lines = File.ReadAllLines(submitted.Marks);
        for (int i = 1; i < lines.Length; i++)
        {
            string[] cells = lines[i].Split(',');
            double reading = (factor * double.Parse(cells[2], System.Globalization.CultureInfo.InvariantCulture)) + (i - 1 == misread ? 5 : 0);
            lines[i] = FormattableString.Invariant($"{cells[0]},{cells[1]},{reading}");
        }

        string marks = _folder.WithFile("marks.csv", string.Join('\n', lines) + "\n"), analysed = _folder.PathOf("analysed");
        Assert.Equal(0, (await CommandRun.OfAsync("analyze", submitted.Clip, "--marks", marks, "--out", analysed)).ExitCode);

        Judgement judgement = await VerifyAsync(0, Submission("student-d", File.ReadAllText(Path.Combine(analysed, "record.json"))));

        Assert.Equal(Verdict.Reproduced, judgement.Verdict);
        Assert.Contains(judgement.Reasons, r => r.Code == code);
    }

    [Fact]
    public async Task The_same_clip_and_record_give_identical_bytes_of_results()
    {
        string record = _folder.WithFile("record.json", submitted.RecordText), first = _folder.PathOf("first"), second = _folder.PathOf("second");
        foreach (string place in new[] { first, second })
            Assert.Equal(0, (await CommandRun.OfAsync("analyze", submitted.Clip, "--record", record, "--out", place)).ExitCode);

        foreach (string file in new[] { "record.json", "series.csv" })
            Assert.Equal(File.ReadAllBytes(Path.Combine(first, file)), File.ReadAllBytes(Path.Combine(second, file)));
        Assert.Equal(submitted.RecordText, File.ReadAllText(Path.Combine(first, "record.json")));
    }

    [Fact]
    public async Task A_class_with_hostile_submissions_is_graded_line_by_line_and_continued()
    {
        string place = _folder.PathOf("class"), graded = _folder.PathOf("graded");
        Directory.CreateDirectory(place);
        Submission("class/student-a", submitted.RecordText);
        Zip("class/bomb.zip", a => Write(a, "clip.mp4", new byte[64 << 20]));
        Zip("class/out.zip", a => Write(a, "../../evil.mp4", [1]));
        Zip("class/link.zip", a => Write(a, "clip.mp4", [1], link: true));
        File.WriteAllText(Path.Combine(place, "no.zip"), "this is no archive");
        Directory.CreateDirectory(Path.Combine(place, "odd\u001b[31m"));
        Directory.CreateDirectory(Path.Combine(place, "linked"));
        File.CreateSymbolicLink(Path.Combine(place, "linked", "clip.mp4"), "/etc/hostname");

        CommandRun run = await CommandRun.OfAsync("grade", place, "--out", graded, "--jobs", "2");

        Assert.True(run.ExitCode == 1, run.Error);
        string csv = File.ReadAllText(Path.Combine(graded, "class.csv"));
        string[] rows = csv.Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(8, rows.Length);
        Assert.Contains(rows, r => r.StartsWith("student-a,reproduced,", StringComparison.Ordinal));
        foreach (string name in new[] { "bomb.zip", "out.zip", "link.zip", "odd<U+001B>[31m", "linked" })
            Assert.Contains(rows, r => r.StartsWith($"{name},can't be judged,", StringComparison.Ordinal) && r.Contains("submission-refused", StringComparison.Ordinal));
        Assert.False(File.Exists(_folder.PathOf("evil.mp4")));

        // One result is lost and lies there half written, as by a kill: only that is done again, and the table is the same.
        string[] results = [.. Directory.GetFiles(Path.Combine(graded, "results")).Order()];
        DateTime kept = File.GetLastWriteTimeUtc(results[1]);
        File.Delete(results[0]);
        File.WriteAllText(results[0] + ".1.partial", "{");
        CommandRun again = await CommandRun.OfAsync("grade", place, "--out", graded);

        Assert.Contains("6 of 7 submissions were done before", again.Error, StringComparison.Ordinal);
        Assert.Equal(kept, File.GetLastWriteTimeUtc(results[1]));
        Assert.Empty(Directory.GetFiles(graded, "*.partial", SearchOption.AllDirectories));
        Assert.Equal(csv, File.ReadAllText(Path.Combine(graded, "class.csv")));
    }

    [Fact]
    public async Task Work_beyond_its_time_costs_one_line_and_steps_done_apart_give_the_table()
    {
        string place = _folder.PathOf("class"), graded = _folder.PathOf("graded");
        Submission("class/student-a", submitted.RecordText);

        CommandRun plan = await CommandRun.OfAsync("grade", place, "--out", graded, "--plan");
        Assert.Equal("1", plan.Output.Trim());
        Assert.Contains("--array=1-1", File.ReadAllText(Path.Combine(graded, "slurm.sh")), StringComparison.Ordinal);
        Assert.Equal(0, (await CommandRun.OfAsync("grade", place, "--out", graded, "--task", "1", "--time-limit", "0.05")).ExitCode);
        Assert.Equal(1, (await CommandRun.OfAsync("grade", place, "--out", graded, "--collect")).ExitCode);
        Assert.Contains("limit-exceeded", File.ReadAllText(Path.Combine(graded, "class.csv")), StringComparison.Ordinal);

        Assert.Equal(0, (await CommandRun.OfAsync("grade", place, "--out", graded, "--task", "1")).ExitCode);
        Assert.Equal(0, (await CommandRun.OfAsync("grade", place, "--out", graded, "--collect")).ExitCode);
    }

    [Fact]
    public async Task A_submission_is_held_against_a_reference_of_the_instrument()
    {
        double own = JsonNode.Parse(submitted.RecordText)!["result"]!["fit"]!["parameters"]!["tau_s"]!["value"]!.GetValue<double>();
        string[] runs = [.. new[] { 1.30, 1.31, 1.29, 1.32 }.Select((factor, i) => RunWith(factor * own, i))];
        string far = _folder.PathOf("far"), near = _folder.PathOf("near");
        CommandRun made = await CommandRun.OfAsync(["reference", .. runs, "--out", far, "--name", "oscillator 3"]);
        Assert.True(made.ExitCode == 0, made.Error);
        Assert.Contains("from 4 runs", made.Output, StringComparison.Ordinal);
        string tau = own.ToString(System.Globalization.CultureInfo.InvariantCulture);
        Assert.Equal(0, (await CommandRun.OfAsync("reference", "--tau", tau, "--tau-u", "0.01", "--tau-scatter", "0.01", "--frequency", "40", "--out", near)).ExitCode);
        string handout = File.ReadAllText(Path.Combine(far, "handout.html"));
        Assert.Contains("oscillator 3", handout, StringComparison.Ordinal);

        string submission = Submission("student-a", submitted.RecordText);
        Judgement disagrees = await VerifyAsync(0, submission, "--reference", far), agrees = await VerifyAsync(0, submission, "--reference", near);

        // The verdict is about the numbers of the submission; the reference adds a reason.
        Assert.Equal(Verdict.Reproduced, disagrees.Verdict);
        Assert.True(disagrees.ReferenceNormalisedError < -1);
        Assert.Contains(disagrees.Reasons, r => r.Code == "reference-disagrees" && r.Message.Contains("oscillator 3", StringComparison.Ordinal));
        Assert.Equal(0, agrees.ReferenceNormalisedError!.Value, 1e-6);
        Assert.DoesNotContain(agrees.Reasons, r => r.Code == "reference-disagrees");

        string place = _folder.PathOf("class"), graded = _folder.PathOf("graded");
        Directory.CreateDirectory(place);
        Directory.Move(submission, Path.Combine(place, "student-a"));
        Assert.Equal(0, (await CommandRun.OfAsync("grade", place, "--out", graded, "--reference", far)).ExitCode);
        Assert.Contains("reference-disagrees", File.ReadAllText(Path.Combine(graded, "class.csv")), StringComparison.Ordinal);

        string RunWith(double tau, int number)
        {
            JsonNode record = JsonNode.Parse(submitted.RecordText)!;
            record["result"]!["fit"]!["parameters"]!["tau_s"]!["value"] = tau;
            record["clip"]!["sha256"] = $"{number}";
            return _folder.WithFile($"run{number}.json", record.ToJsonString());
        }
    }

    [Theory]
    [InlineData(2, "reference", "--out", "ref")]
    [InlineData(2, "reference", "--tau", "2", "--out", "ref")]
    [InlineData(2, "reference", "run.json", "--tau", "2", "--tau-u", "0.1", "--out", "ref")]
    [InlineData(3, "reference", "no-such-run", "--out", "ref")]
    [InlineData(3, "reference", "linked", "--out", "ref")]
    [InlineData(2, "reference", "run.json", "--frequency-u", "0.1", "--out", "ref")]
    [InlineData(2, "reference", "--tau", "2", "--tau-u", "0.1", "--setting-name", "brake_a", "--out", "ref")]
    [InlineData(3, "verify", "nothing", "--reference", "no-such-reference")]
    [InlineData(2, "verify", "nothing", "--setting", "3")]
    [InlineData(2, "grade", "nothing", "--out", "nothing/graded")]
    [InlineData(2, "grade", "nothing", "--out", "ref", "--task", "1", "--reference", "no-such-reference")]
    [InlineData(2, "grade", "nothing", "--out", "ref", "--collect", "--setting", "3")]
    public async Task Work_without_what_it_needs_is_refused(int exitCode, params string[] args)
    {
        Directory.CreateDirectory(_folder.PathOf("linked"));
        File.CreateSymbolicLink(_folder.PathOf("linked/clip.mp4"), "/etc/hostname");
        CommandRun run = await CommandRun.OfAsync([.. args.Select(a => a is "ref" or "linked" ? _folder.PathOf(a) : a)]);

        Assert.Equal(exitCode, run.ExitCode);
        Assert.NotEmpty(run.Error);
        Assert.DoesNotContain("fault of the program", run.Error, StringComparison.Ordinal);
        Assert.False(Directory.Exists(_folder.PathOf("ref")));
    }

    [Fact]
    public void A_normalised_error_follows_its_definition()
    {
        // ISO/IEC 17043, annex B: E_n = (x - X) / sqrt(U_x² + U_X²); with U = 2 u: (10.3 - 10) / sqrt(0.3² + 0.4²) = 0.6.
        Assert.Equal(0.6, NormalisedError.Of(new(10.3, 0.15), new(10, 0.2)), 1e-12);
        Assert.False(NormalisedError.Agrees(double.NaN));
    }

    private static async Task<Judgement> VerifyAsync(int exitCode, string submission, params string[] more)
    {
        CommandRun run = await CommandRun.OfAsync(["verify", submission, "--json", .. more]);
        Assert.True(run.ExitCode == exitCode, run.Error + run.Output);
        string path = Path.GetTempFileName();
        File.WriteAllText(path, run.Output);
        Judgement judgement = JudgementJson.TryRead(path)!;
        File.Delete(path);
        return judgement;
    }

    private string Submission(string name, string record)
    {
        string place = _folder.PathOf(name);
        Directory.CreateDirectory(place);
        File.Copy(submitted.Clip, Path.Combine(place, "clip.mp4"));
        File.WriteAllText(Path.Combine(place, "record.json"), record);
        return place;
    }

    private void Zip(string name, Action<ZipArchive> fill)
    {
        using ZipArchive archive = ZipFile.Open(_folder.PathOf(name), ZipArchiveMode.Create);
        fill(archive);
    }

    private static void Write(ZipArchive archive, string name, byte[] bytes, bool link = false)
    {
        ZipArchiveEntry entry = archive.CreateEntry(name);
        if (link)
            entry.ExternalAttributes = unchecked((int)0xA1FF0000);
        using Stream stream = entry.Open();
        stream.Write(bytes);
    }

    public sealed class Submitted : IDisposable
    {
        private readonly TemporaryFolder _folder = new();

        public Submitted()
        {
            CommandRun made = CommandRun.OfAsync(
                "synth", "--out", _folder.PathOf("made"), "--seed", "2", "--width", "960", "--duration", "3.2", "--tau", "0.8").GetAwaiter().GetResult();
            Assert.True(made.ExitCode == 0, made.Error);
            Assert.Contains(Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(File.ReadAllBytes(_folder.PathOf("made.truth/truth.json")))),
                made.Output, StringComparison.Ordinal);
            CommandRun run = CommandRun.OfAsync("analyze", Clip, "--marks", Marks, "--out", _folder.PathOf("result")).GetAwaiter().GetResult();
            Assert.True(run.ExitCode == 0, run.Error);
            RecordText = File.ReadAllText(_folder.PathOf("result/record.json"));
        }

        public string Clip => _folder.PathOf("made/clip.mp4");

        public string Marks => _folder.PathOf("made/marks.csv");

        public string RecordText { get; }

        public void Dispose() => _folder.Dispose();
    }
}
