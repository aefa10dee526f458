using System.Diagnostics;
using System.Globalization;
using System.Text;
using StreakTrack.Cli;
using StreakTrack.Core.Records;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Robustness.Faults;

/// <summary>Faults of the machine, brought about around the real command. Linux only.</summary>
internal sealed class FaultCases : IDisposable
{
    private static readonly string Clip = Fixtures.PathOf("clips", "ringdown_lit_1080p30", "clip.mp4");
    private static readonly string Marks = Fixtures.PathOf("clips", "ringdown_lit_1080p30", "marks.csv");

    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("streaktrack-faults-");
    private readonly string _series;

    public FaultCases()
    {
        _series = PathOf("series.csv");
        File.WriteAllText(_series, Series(2.4));
    }

    /// <summary>All cases.</summary>
    /// <param name="kills">How often the command is killed while it writes.</param>
    public IReadOnlyList<(string Name, Func<Task<FaultResult>> Run)> All(int kills) =>
    [
        ("disk full (no file may grow beyond 16 KiB)", DiskFullAsync),
        ("disk full (a file system of 64 KiB)", () => OnMountAsync("disk full (a file system of 64 KiB)", "small", "size=64k")),
        ("output folder read-only", () => OnMountAsync("output folder read-only", "read-only", "ro")),
        ("output folder takes no files", OutputTakesNoFilesAsync),
        ("a file where a folder of the results belongs", FileInThePlaceAsync),
        ("no folder for temporary files", NoTemporaryFolderAsync),
        ("clip removed while it is read", () => ClipChangedAsync("clip removed while it is read", File.Delete)),
        ("clip cut short while it is read", () => ClipChangedAsync("clip cut short while it is read", CutShort)),
        ("ffmpeg program killed while it decodes", DecoderKilledAsync),
        ("command asked to end (SIGTERM) while it decodes", AskedToEndAsync),
        ("command killed while it decodes", KilledWhileDecodingAsync),
        ("command killed while it writes", () => KilledWhileWritingAsync(kills)),
    ];

    public void Dispose() => _folder.Delete(recursive: true);

    private async Task<FaultResult> DiskFullAsync()
    {
        string output = PathOf("full");
        using CliProcess run = CliProcess.StartWithFileLimit(16, "fit", _series, "--out", output);
        return await JudgeAsync("disk full (no file may grow beyond 16 KiB)", run, [ExitCode.Machine], output);
    }

    // Where no file system can be mounted, the case before has to do, and the page says so. The read-only folder needs one because rights alone
    // do not keep a privileged user out.
    private async Task<FaultResult> OnMountAsync(string fault, string folder, string mountOptions)
    {
        string output = Directory.CreateDirectory(PathOf(folder)).FullName;
        using CliProcess run = CliProcess.StartOnMount(output, mountOptions, "fit", _series, "--out", output);
        FaultResult result = await JudgeAsync(fault, run, [ExitCode.Machine], output);
        return run.Process.ExitCode is CliProcess.NotMounted or CliProcess.NotAllowed
            ? new FaultResult(fault, "not tried: no file system can be mounted here", "none", []) : result;
    }

    private async Task<FaultResult> OutputTakesNoFilesAsync()
    {
        using CliProcess run = CliProcess.Start("fit", _series, "--out", "/proc/results");
        return await JudgeAsync("output folder takes no files", run, [ExitCode.Machine], "/proc/results");
    }

    private async Task<FaultResult> FileInThePlaceAsync()
    {
        string output = PathOf("blocked");
        Directory.CreateDirectory(output);
        File.WriteAllText(Path.Combine(output, "figures"), "a file of that name\n");
        using CliProcess run = CliProcess.Start("fit", _series, "--out", output);
        return await JudgeAsync("a file where a folder of the results belongs", run, [ExitCode.Machine], output);
    }

    private async Task<FaultResult> NoTemporaryFolderAsync()
    {
        string output = PathOf("no-temporary");
        using CliProcess run = CliProcess.StartWithTemporaryFolder(PathOf("absent"), "analyze", Clip, "--marks", Marks, "--out", output);
        return await JudgeAsync("no folder for temporary files", run, [ExitCode.Machine], output);
    }

    private async Task<FaultResult> ClipChangedAsync(string fault, Action<string> change)
    {
        string copy = PathOf("copy.mp4"), output = PathOf("changed");
        File.Copy(Clip, copy, overwrite: true);
        using CliProcess run = CliProcess.Start("analyze", copy, "--marks", Marks, "--out", output);
        using (await run.DecoderAsync())
            change(copy);

        return await JudgeAsync(fault, run, [ExitCode.UnusableInput, ExitCode.Machine], output);
    }

    private static void CutShort(string path)
    {
        using var file = new FileStream(path, FileMode.Open, FileAccess.Write, FileShare.ReadWrite);
        file.SetLength(file.Length / 2);
    }

    private async Task<FaultResult> DecoderKilledAsync()
    {
        string output = PathOf("decoder");
        using CliProcess run = CliProcess.Start("analyze", Clip, "--marks", Marks, "--out", output, "--reader", "ffmpeg");
        using (Process decoder = await run.DecoderAsync())
            decoder.Kill();
        return await JudgeAsync("ffmpeg program killed while it decodes", run, [ExitCode.Machine], output);
    }

    private async Task<FaultResult> AskedToEndAsync()
    {
        string output = PathOf("asked");
        using CliProcess run = CliProcess.Start("analyze", Clip, "--marks", Marks, "--out", output, "--reader", "ffmpeg");
        using Process decoder = await run.DecoderAsync();
        using (Process kill = Process.Start("kill", ["-TERM", run.Process.Id.ToString(CultureInfo.InvariantCulture)]))
            await kill.WaitForExitAsync();
        FaultResult result = await JudgeAsync("command asked to end (SIGTERM) while it decodes", run, [ExitCode.Interrupted], output);
        return decoder.WaitForExit(10_000) ? result : result with { Problems = [.. result.Problems, "the ffmpeg program runs on"] };
    }

    private async Task<FaultResult> KilledWhileDecodingAsync()
    {
        string output = PathOf("killed"), temporary = PathOf("temporary");
        Directory.CreateDirectory(temporary);
        using CliProcess run = CliProcess.StartWithTemporaryFolder(
            temporary, "analyze", Clip, "--marks", Marks, "--out", output, "--reader", "ffmpeg");
        using Process decoder = await run.DecoderAsync();

        // Its temporary file is there by the first frames.
        await Task.Delay(200);
        run.Process.Kill();
        var problems = new List<string>();
        if (!decoder.WaitForExit(10_000))
        {
            problems.Add("the ffmpeg program runs on");
            decoder.Kill();
        }

        if (Directory.EnumerateFiles(temporary, "*", SearchOption.AllDirectories).Any())
            problems.Add("temporary files are left");
        problems.AddRange(HalfResults(output));
        return new FaultResult("command killed while it decodes", "killed; ffmpeg ended with it, no temporary file left, no results", "none", problems);
    }

    private async Task<FaultResult> KilledWhileWritingAsync(int kills)
    {
        // Two sets of results of which every file differs; whatever moment the second replaces the first at, a record says what is there.
        string output = PathOf("written"), other = PathOf("other.csv");
        await File.WriteAllTextAsync(other, Series(1.7));
        Dictionary<string, byte[]> first = await WholeAsync(_series, PathOf("first")), second = await WholeAsync(other, PathOf("second"));
        var problems = new List<string>();
        int before = 0, between = 0, after = 0;
        for (int i = 0; i < kills; i++)
        {
            if (Directory.Exists(output))
                Directory.Delete(output, recursive: true);
            Copy(PathOf("first"), output);
            using CliProcess run = CliProcess.Start("fit", other, "--out", output);
            var random = new Random(i);
            while (!run.Process.HasExited && !Directory.EnumerateFiles(output, "*.unfinished", SearchOption.AllDirectories).Any())
                Thread.Yield();

            // Writing takes some 10 ms; a moment in it, or shortly before the names are given.
            long until = Stopwatch.GetTimestamp() + (long)(random.NextDouble() * 0.03 * Stopwatch.Frequency);
            while (Stopwatch.GetTimestamp() < until)
                Thread.SpinWait(20);
            run.Process.Kill();
            await run.Process.WaitForExitAsync();

            bool hasRecord = File.Exists(Path.Combine(output, "record.json"));
            bool isFirst = first.All(f => Same(output, f)), isSecond = second.All(f => Same(output, f));
            if (isFirst)
                before++;
            else if (isSecond)
                after++;
            else if (!hasRecord)
                between++;
            else
                problems.Add($"kill {i}: a record beside files that are not its own");
        }

        return new FaultResult("command killed while it writes",
            string.Create(CultureInfo.InvariantCulture,
                $"killed {kills} times: {before} times the earlier results whole, {after} times the new ones whole, {between} times no record"),
            "none", problems);
    }

    private async Task<FaultResult> JudgeAsync(string fault, CliProcess run, int[] expected, string output)
    {
        (int code, string text, string error) = await run.EndAsync();
        var problems = new List<string>(HalfResults(output));
        if (!expected.Contains(code))
            problems.Add($"exit code {code}");
        if (text.Length > 0)
            problems.Add("results on standard output");
        if (error.Trim().Length == 0 || error.Contains("fault of the program", StringComparison.Ordinal) || error.Contains("   at ", StringComparison.Ordinal))
            problems.Add("no message for people: " + error);
        string message = error.Trim().Replace(_folder.FullName, "…", StringComparison.Ordinal)
            .Replace(Path.GetDirectoryName(Clip)!, "…", StringComparison.Ordinal);
        return new FaultResult(fault, $"exit code {code}; no results", message, problems);
    }

    private static IEnumerable<string> HalfResults(string output) => Directory.Exists(output)
        ? Directory.EnumerateFiles(output, "*", SearchOption.AllDirectories)
            .Where(path => Path.GetFileName(path) is "record.json" or "report.html" or "series.csv"
                || path.EndsWith(".unfinished", StringComparison.Ordinal))
            .Select(path => "left " + Path.GetFileName(path))
        : [];

    private async Task<Dictionary<string, byte[]>> WholeAsync(string series, string output)
    {
        using CliProcess run = CliProcess.Start("fit", series, "--out", output);
        (int code, _, string error) = await run.EndAsync();
        if (code != 0)
            throw new InvalidOperationException("The sound series was refused: " + error);
        RecordJson.Read(Path.Combine(output, "record.json"));
        return Directory.EnumerateFiles(output, "*", SearchOption.AllDirectories)
            .ToDictionary(path => Path.GetRelativePath(output, path), File.ReadAllBytes);
    }

    private static bool Same(string folder, KeyValuePair<string, byte[]> file)
    {
        string path = Path.Combine(folder, file.Key);
        return File.Exists(path) && File.ReadAllBytes(path).AsSpan().SequenceEqual(file.Value);
    }

    private static void Copy(string from, string to)
    {
        foreach (string path in Directory.EnumerateFiles(from, "*", SearchOption.AllDirectories))
        {
            string copy = Path.Combine(to, Path.GetRelativePath(from, path));
            Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
            File.Copy(path, copy);
        }
    }

    private string PathOf(string name) => Path.Combine(_folder.FullName, name);

    private static string Series(double tauSeconds)
    {
        var random = new Random(5);
        var text = new StringBuilder("time_s,amplitude_mm\r\n");
        for (int i = 0; i < 200; i++)
        {
            double time = i / 30.0, amplitude = (42 * Math.Exp(-time / tauSeconds)) + (0.1 * (random.NextDouble() - 0.5));
            text.Append(CultureInfo.InvariantCulture, $"{time:0.0000},{amplitude:0.0000}\r\n");
        }

        return text.ToString();
    }
}
