using System.Diagnostics;
using System.Globalization;
using System.IO.Compression;
using System.Text.Json.Nodes;
using StreakTrack.Core.Submissions;
using StreakTrack.Synthesis.Output;

namespace StreakTrack.Grading.Class;

/// <summary>Makes a class of 41 submissions with known faults.</summary>
/// <param name="folder">Folder for the class; that of the clips and analyses it is made of lies beside it.</param>
internal sealed class ClassMaker(string folder)
{
    private readonly string _work = folder + ".made";
    private readonly BaseClips _clips = new(folder + ".made");
    private readonly List<Expectation> _class = [];

    /// <summary>Makes the submissions, and says what is due to each.</summary>
    public async Task<IReadOnlyList<Expectation>> MakeAsync()
    {
        // What an earlier run made may have been made by another version of the program.
        foreach (string old in new[] { folder, _work }.Where(Directory.Exists))
            Directory.Delete(old, recursive: true);
        Directory.CreateDirectory(folder);
        await HonestAsync();
        await WrongReadingsAsync();
        await ChoicesAsync();
        await EditedAsync();
        await CopiesAsync();
        await BrokenClipsAsync();
        await RecordsAsync();
        Hostile();
        // Likeness has two sides: an original is due its copies.
        return [.. _class.Select(e => e with { Resembles = [.. e.Resembles, .. _class.Where(c => c.Resembles.Contains(e.Submission)).Select(c => c.Submission)] })];
    }

    private async Task HonestAsync()
    {
        for (int i = 1; i <= 3; i++)
            Add($"honest-{i}", "none: a decay filmed well", Verdict.Reproduced, [], _clips.Clean(i).ClipPath, await RecordAsync(_clips.Clean(i)), without: ["mark-misread", "scale-factor", "tau-disagrees"]);
        foreach (int i in new[] { 1, 3 })
            Add($"honest-hard-{i}", "none: a decay filmed badly", Verdict.Reproduced, [], _clips.Hard(i).ClipPath, await RecordAsync(_clips.Hard(i)), without: ["mark-misread", "scale-factor", "tau-disagrees"]);
        Add("honest-rise", "none: a drive switched on", Verdict.Reproduced, [], _clips.Rise().ClipPath, await RecordAsync(_clips.Rise()), without: ["mark-misread", "scale-factor", "tau-disagrees"]);
        string unpacked = Path.Combine(_work, "zipped");
        Fill(unpacked, _clips.Clean(4).ClipPath, await RecordAsync(_clips.Clean(4)));
        ZipFile.CreateFromDirectory(unpacked, Path.Combine(folder, "honest-zip.zip"), CompressionLevel.Fastest, includeBaseDirectory: true);
        Expect("honest-zip.zip", "none: packed as a zip", Verdict.Reproduced, [], without: ["mark-misread", "scale-factor", "tau-disagrees"]);
    }

    private async Task WrongReadingsAsync()
    {
        (string Name, string Fault, Func<int, double, double> Reading, string Code)[] faults =
        [
            ("mark-5-mm", "second mark read 5 mm too high", (i, r) => i == 1 ? r + 5 : r, "mark-misread"),
            ("mark-10-mm", "last mark read 10 mm too low", (i, r) => i == 3 ? r - 10 : r, "mark-misread"),
            ("mark-20-mm", "first mark read 20 mm too low", (i, r) => i == 0 ? r - 20 : r, "mark-misread"),
            ("unit-inches", "readings in inches taken for centimetres", (_, r) => r * 10 / 25.4, "scale-factor"),
            ("unit-centimetres", "readings in centimetres for millimetres", (_, r) => r / 10, "scale-factor"),
            ("unit-tenfold", "readings ten times too large", (_, r) => r * 10, "scale-factor"),
        ];
        int clip = 5;
        foreach ((string name, string fault, Func<int, double, double> reading, string code) in faults)
        {
            SimulatedClip made = _clips.Clean(clip++);
            double[] readings = [.. made.Marks.Select((m, i) => reading(i, m.ReadingMm))];
            Add(name, fault, Verdict.Reproduced, [code], made.ClipPath, await RecordAsync(made, name, readings));
        }
    }

    private async Task ChoicesAsync()
    {
        SimulatedClip clip = _clips.Clean(11);
        Add("window-shifted", "fit begun one decay time late", Verdict.Reproduced, ["window-chosen"], clip.ClipPath, await RecordAsync(clip, "window", null, "--from", Seconds(0.5 + clip.Truth.Oscillator.TauS)));
        clip = _clips.Clean(12);
        Add("window-steady", "fit begun before the switch, model without a steady part forced", Verdict.Reproduced, ["window-chosen"], clip.ClipPath, await RecordAsync(clip, "steady", null, "--from", "0.2", "--to", Seconds(0.5 + clip.Truth.Oscillator.TauS)));
        clip = _clips.Drag();
        Add("model-forced", "a plain decay named for a motion with drag", Verdict.Reproduced, ["model-chosen"], clip.ClipPath, await RecordAsync(clip, "model", null, "--model", "decay"));
        clip = _clips.Clean(13);
        Add("frames-left-out", "twenty frames left out by hand", Verdict.Reproduced, ["frames-left-out"], clip.ClipPath, await RecordAsync(clip, "frames", null, "--exclude", "30-49"));
    }

    private async Task EditedAsync()
    {
        (string Name, string Fault, Action<JsonNode> Edit)[] edits =
        [
            ("edited-tau-5", "tau raised by 5 %", r => Scale(Parameter(r, "tau_s"), "value", 1.05)),
            ("edited-tau-0.2", "tau raised by 0.2 %", r => Scale(Parameter(r, "tau_s"), "value", 1.002)),
            ("edited-u", "uncertainty of tau halved", r => Scale(Parameter(r, "tau_s"), "standard_uncertainty", 0.5)),
            ("edited-q", "Q raised by 10 %", r => Scale(r["result"]!["oscillator"]!["q"]!, "value", 1.1)),
            ("edited-model", "another model's name written into the record", r => r["result"]!["fit"]!["model"] = "drag"),
        ];
        int clip = 14;
        foreach ((string name, string fault, Action<JsonNode> edit) in edits)
        {
            SimulatedClip made = _clips.Clean(clip++);
            JsonNode record = JsonNode.Parse(await RecordAsync(made))!;
            edit(record);
            Add(name, fault, Verdict.Differs, ["numbers-differ"], made.ClipPath, record.ToJsonString());
        }
    }

    private async Task CopiesAsync()
    {
        // The copied clips are those of honest-1 to honest-3, with an analysis of the copy's own.
        Add("copied-file", "the file of honest-1, analysed anew with other settings", Verdict.Reproduced, [], _clips.Clean(1).ClipPath,
            await RecordAsync(_clips.Clean(1), "copied", null, "--model", "decay"), ["honest-1"]);
        string again = Ffmpeg("reencoded.mp4", "-i", _clips.Clean(2).ClipPath, "-c:v", "libx264", "-crf", "28");
        Add("copied-reencoded", "the clip of honest-2 encoded again", Verdict.Reproduced, [], again, await RecordOfAsync(again, _clips.Clean(2), "reencoded"), ["honest-2"]);
        string cut = Ffmpeg("trimmed.mp4", "-ss", "0.25", "-i", _clips.Clean(3).ClipPath, "-c:v", "libx264", "-crf", "20");
        Add("copied-trimmed", "the clip of honest-3 trimmed and encoded again", Verdict.Reproduced, [], cut, await RecordOfAsync(cut, _clips.Clean(3), "trimmed"), ["honest-3"]);
        string small = Ffmpeg("scaled.mp4", "-i", _clips.Rise().ClipPath, "-vf", "scale=720:-2", "-c:v", "libx264", "-crf", "23");
        Add("copied-scaled", "the clip of honest-rise made smaller", Verdict.Reproduced, [], small, await RecordOfAsync(small, _clips.Rise(), "scaled", 720.0 / 960), ["honest-rise"]);
        string cropped = Ffmpeg("cropped.mp4", "-i", _clips.Hard(1).ClipPath, "-vf", "crop=900:440:30:50", "-c:v", "libx264", "-crf", "20");
        Add("copied-cropped", "the clip of honest-hard-1 cropped", Verdict.Reproduced, [], cropped, await RecordOfAsync(cropped, _clips.Hard(1), "cropped", 1, -30, -50), ["honest-hard-1"]);
        SimulatedClip own = _clips.Clean(19);
        string sent = Ffmpeg("sent.mp4", "-i", own.ClipPath, "-c:v", "libx264", "-crf", "26");
        Add("own-reencoded", "own record, own clip encoded again by a messenger", Verdict.ReproducedWithinUncertainty, ["clip-differs"], sent, await RecordAsync(own));
        Add("other-clip", "own record with the clip of another run", Verdict.Differs, ["clip-differs", "numbers-differ"], _clips.Clean(20).ClipPath, await RecordAsync(_clips.Clean(21)));
    }

    private async Task BrokenClipsAsync()
    {
        byte[] whole = File.ReadAllBytes(_clips.Clean(22).ClipPath);
        string half = Path.Combine(_work, "half.mp4"), record = await RecordAsync(_clips.Clean(22));
        File.WriteAllBytes(half, whole[..(whole.Length / 2)]);
        Add("truncated", "second half of the file missing", Verdict.CannotBeJudged, ["not-judged"], half, record);
        string empty = Path.Combine(_work, "empty.mp4");
        File.WriteAllBytes(empty, []);
        Add("empty-clip", "a clip of no bytes", Verdict.CannotBeJudged, ["not-judged"], empty, record);
        Add("no-streak", "laser off, record of another clip", Verdict.CannotBeJudged, ["not-judged"], _clips.Dark().ClipPath, await RecordAsync(_clips.Clean(23)));
        SimulatedClip small = _clips.Small();
        int repeats = (int)Math.Ceiling(1200 / small.Truth.Scenario.DurationSeconds);
        string hours = Ffmpeg("long.mp4", "-stream_loop", repeats.ToString(CultureInfo.InvariantCulture), "-i", small.ClipPath, "-c", "copy");
        Add("twenty-minutes", "a clip of twenty minutes with the record of its beginning", Verdict.Differs, ["clip-differs"], hours, await RecordAsync(small));
    }

    private async Task RecordsAsync()
    {
        string clip = _clips.Clean(24).ClipPath, record = await RecordAsync(_clips.Clean(24));
        Add("record-missing", "a clip without a record", Verdict.CannotBeJudged, ["not-judged"], clip, null);
        JsonNode newer = JsonNode.Parse(record)!;
        newer["record_version"] = 999;
        Add("record-newer", "a record of a version to come", Verdict.CannotBeJudged, ["not-judged"], _clips.Clean(25).ClipPath, newer.ToJsonString());
        Add("record-damaged", "a record cut off in the middle", Verdict.CannotBeJudged, ["not-judged"], _clips.Clean(26).ClipPath, record[..(record.Length / 2)]);
        JsonNode marks = JsonNode.Parse(record)!;
        foreach (JsonNode? mark in marks["marks"]!.AsArray())
            (mark!["u_px"], mark["v_px"]) = (100, 100);
        Add("record-one-point", "all marks on one point", Verdict.CannotBeJudged, ["not-judged"], _clips.Clean(27).ClipPath, marks.ToJsonString());
    }

    private void Hostile()
    {
        Archive("hostile-bomb.zip", a => Put(a, "clip.mp4", new byte[64 << 20]));
        Expect("hostile-bomb.zip", "an archive that unpacks to a thousand times its size", Verdict.CannotBeJudged, ["submission-refused"]);
        Archive("hostile-path.zip", a => Put(a, "../../escaped.mp4", [1]));
        Expect("hostile-path.zip", "a path that leads out of the archive", Verdict.CannotBeJudged, ["submission-refused"]);
        string linked = Path.Combine(folder, "hostile-link");
        Directory.CreateDirectory(linked);
        File.CreateSymbolicLink(Path.Combine(linked, "clip.mp4"), "/etc/hostname");
        Expect("hostile-link", "a clip that is a link out of the folder", Verdict.CannotBeJudged, ["submission-refused"]);
        Directory.CreateDirectory(Path.Combine(folder, "hostile-\u202Eeman"));
        Expect("hostile-\u202Eeman", "a name with a sign that turns the reading direction", Verdict.CannotBeJudged, ["submission-refused"]);
    }

    private static string Seconds(double value) => value.ToString("0.###", CultureInfo.InvariantCulture);

    private static JsonNode Parameter(JsonNode record, string name) => record["result"]!["fit"]!["parameters"]![name]!;

    private static void Scale(JsonNode node, string key, double factor) => node[key] = factor * node[key]!.GetValue<double>();

    private Task<string> RecordAsync(SimulatedClip clip) => RecordAsync(clip, "plain", null);

    private Task<string> RecordAsync(SimulatedClip clip, string name, double[]? readings, params string[] more) => AnalyseAsync(
        clip.ClipPath, Path.GetFileName(Path.GetDirectoryName(clip.ClipPath)!) + "-" + name,
        clip.Marks.Select((m, i) => (m.Point.UPx, m.Point.VPx, readings?[i] ?? m.ReadingMm)), ["--frequency", Seconds(clip.Truth.Oscillator.FrequencyHz), .. more]);

    private Task<string> RecordOfAsync(string copy, SimulatedClip original, string name, double scale = 1, double right = 0, double down = 0) => AnalyseAsync(
        copy, name, original.Marks.Select(m => ((scale * (m.Point.UPx + 0.5)) - 0.5 + right, (scale * (m.Point.VPx + 0.5)) - 0.5 + down, m.ReadingMm)), ["--frequency", Seconds(original.Truth.Oscillator.FrequencyHz)]);

    private async Task<string> AnalyseAsync(string clip, string name, IEnumerable<(double U, double V, double Reading)> marks, string[] more)
    {
        string place = Path.Combine(_work, "analysis-" + name), table = place + ".csv", record = Path.Combine(place, "record.json");
        if (!File.Exists(record))
        {
            File.WriteAllText(table, "u_px,v_px,reading_mm\n" + string.Concat(marks.Select(m => FormattableString.Invariant($"{m.U:0.###},{m.V:0.###},{m.Reading:0.######}\n"))));
            CliRun run = await CliRun.OfAsync(["analyze", clip, "--marks", table, "--out", place, .. more]);
            if (!File.Exists(record))
                throw new InvalidOperationException($"{name}: {run.Error}");
        }

        return File.ReadAllText(record);
    }

    private string Ffmpeg(string name, params string[] arguments)
    {
        string path = Path.Combine(_work, name);
        using Process process = Process.Start(new ProcessStartInfo("ffmpeg", ["-nostdin", "-loglevel", "error", "-y", .. arguments, path]))!;
        process.WaitForExit();
        return process.ExitCode == 0 ? path : throw new InvalidOperationException($"ffmpeg could not make {name}.");
    }

    private void Add(string name, string fault, Verdict verdict, string[] codes, string clip, string? record, string[]? resembles = null, string[]? without = null)
    {
        Fill(Path.Combine(folder, name), clip, record);
        Expect(name, fault, verdict, codes, resembles, without);
    }

    private void Expect(string name, string fault, Verdict verdict, string[] codes, string[]? resembles = null, string[]? without = null) =>
        _class.Add(new Expectation(SubmissionFiles.Shown(name), fault, verdict, codes, resembles ?? [], without ?? []));

    private static void Fill(string place, string clip, string? record)
    {
        Directory.CreateDirectory(place);
        File.Copy(clip, Path.Combine(place, "clip" + Path.GetExtension(clip)), overwrite: true);
        if (record is not null)
            File.WriteAllText(Path.Combine(place, "record.json"), record);
    }

    private void Archive(string name, Action<ZipArchive> fill)
    {
        string path = Path.Combine(folder, name);
        File.Delete(path);
        using ZipArchive archive = ZipFile.Open(path, ZipArchiveMode.Create);
        fill(archive);
    }

    private static void Put(ZipArchive archive, string name, byte[] bytes)
    {
        using Stream stream = archive.CreateEntry(name).Open();
        stream.Write(bytes);
    }
}
