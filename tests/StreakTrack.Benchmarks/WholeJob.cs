using System.Globalization;
using System.Text;
using System.Text.Json;
using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Jobs;
using BenchmarkDotNet.Reports;
using BenchmarkDotNet.Running;

namespace StreakTrack.Benchmarks;

/// <summary>Measures the whole job of the published program against decoding alone and against a plain script, and writes
/// docs/performance.md.</summary>
internal static class WholeJob
{
    private static int _times = 3;

    /// <summary>Measures and writes.</summary>
    /// <param name="program">The published program.</param>
    /// <param name="folder">Where clips are made, and kept for the next time.</param>
    /// <param name="python">The Python to run the script with.</param>
    /// <param name="times">Runs of each, at least 1.</param>
    /// <param name="longestSeconds">Length of the longest clip, in s, at least 60.</param>
    /// <param name="wanted">A word in the title of the only part to measure anew; the other parts of the page stay as they were. All
    /// for an empty one.</param>
    public static void Run(string program, string folder, string python, int times, double longestSeconds, string wanted)
    {
        _times = times;
        string In(string name) => Path.Combine(folder, name);
        Say("making clips");
        BenchmarkClip full = BenchmarkClip.Make("1080p30 H.264", In("1080p30"), 1080, 30, 17);
        BenchmarkClip large = BenchmarkClip.Make("4K60 H.264", In("4k60"), 2160, 60, 60);
        BenchmarkClip[] basic =
        [
            BenchmarkClip.Make("720p30 H.264", In("720p30"), 720, 30, 9), full,
            BenchmarkClip.Make("1080p60 HEVC 10 bit", In("hevc"), 1080, 60, 15, hevc: true), large,
        ];
        BenchmarkClip[] lengths = [full, .. new[] { 60.0, 600 }.Where(s => s <= longestSeconds)
            .Select(s => full.Lengthened(In(string.Create(CultureInfo.InvariantCulture, $"{s}s")), s))];
        BenchmarkClip[] sizes = [BenchmarkClip.Make("1080p60 H.264", In("1080p60"), 1080, 60, 60 / 4.0), large];
        string page = Path.Combine(RepositoryRoot(), "docs", "performance.md");
        (string Title, Func<string> Measure)[] parts =
        [
            ("Ten seconds of clip", () => TenSeconds(program, python, In("result"), basic)),
            ("Against the length of the clip", () => Lengths(program, In("result"), lengths)),
            ("Against the size of the frame", () => Sizes(program, In("result"), sizes)),
            ("Starting up", () => StartingUp(program, basic[0])),
            ("Kernels", Kernels),
        ];
        // The page is written after each part, so that a run that is broken off keeps what it has measured.
        var known = parts.ToDictionary(part => part.Title, part => PartOf(page, part.Title));
        foreach ((string title, Func<string> measure) in parts)
        {
            if (wanted.Length > 0 && !title.Contains(wanted, StringComparison.Ordinal))
                continue;
            known[title] = measure();
            File.WriteAllText(page, Head() + string.Concat(parts.Where(part => known[part.Title] is not null)
                .Select(part => $"\n## {part.Title}\n\n{known[part.Title]!.Trim()}\n")));
        }
    }

    private static string? PartOf(string page, string title)
    {
        string[] parts = File.Exists(page) ? File.ReadAllText(page).Split("\n## ") : [];
        return parts.FirstOrDefault(part => part.StartsWith(title + "\n", StringComparison.Ordinal))?[(title.Length + 1)..];
    }

    private static string Head() => string.Create(CultureInfo.InvariantCulture, $"""
        # Speed and memory, measured

        Written by `dotnet run --project tests/StreakTrack.Benchmarks -c Release -- whole PROGRAM/streaktrack CLIPS`, where PROGRAM is the folder
        of the published program and CLIPS one for the clips; numbers here are never edited by hand. Each part is measured in one go, on
        {Environment.ProcessorCount} processors; each time is that of whole processes, the median of several runs (one for clips of a minute and more).
        *ours* is `analyze` with report, figures and all; *ffmpeg* is `ffmpeg -i CLIP -f null -`, which takes as many threads as *ours* lets it
        take; *decoding* is `info`, which reads every frame with the same reader and keeps its time; *script* is
        `tests/StreakTrack.Benchmarks/plain_script.py`, run with OpenCV and SciPy. Ratios are given twice: of the time on the clock, and, in
        brackets, of the time of all processors together, which other work on the machine disturbs less. Memory is the largest resident memory
        of the program together with its decoder.

        """);

    private static string TenSeconds(string program, string python, string results, BenchmarkClip[] clips)
    {
        var text = new StringBuilder("""
            The clips are simulated decays with noise, encoded with as many bits as phones spend; the 4K one is enlarged from 1080p. Starting up,
            looking for the streak, fitting and drawing the report take the same time for a short clip as for a long one, so the ratios of short
            clips are the worst.

            | clip | MB | ours, s | ffmpeg, s | ratio | decoding, s | ratio | peak memory, MB | script, s | ratio | tau - truth, ours | script |
            |---|---|---|---|---|---|---|---|---|---|---|---|

            """);
        foreach (BenchmarkClip clip in clips)
            text.AppendLine(Row(program, clip, results, python));
        return text.ToString();
    }

    private static string Lengths(string program, string results, BenchmarkClip[] clips)
    {
        var text = new StringBuilder("""
            1080p30: the steady beginning repeated, then the decay.

            | clip | MB | ours, s | ffmpeg, s | ratio | decoding, s | ratio | peak memory, MB |
            |---|---|---|---|---|---|---|---|

            """);
        var ours = new List<(double X, double Y)>();
        var decoding = new List<double>();
        foreach (BenchmarkClip clip in clips)
        {
            text.AppendLine(Row(program, clip, results, null, (all, decoded) =>
            {
                ours.Add((clip.Seconds, all));
                decoding.Add(decoded);
            }));
        }

        double seconds = clips[^1].Seconds - clips[0].Seconds;
        text.AppendLine(CultureInfo.InvariantCulture, $"""

            Processor time grows as the length to the power {Exponent(ours):0.00}. A further second of clip costs {1000 * (ours[^1].Y - ours[0].Y) / seconds:0} ms
            of it, of which decoding takes {1000 * (decoding[^1] - decoding[0]) / seconds:0} ms.
            """);
        return text.ToString();
    }

    private static string Sizes(string program, string results, BenchmarkClip[] clips)
    {
        var text = new StringBuilder("""
            Ten seconds at 60 frames a second, H.264, with bits in proportion to the pixels.

            | clip | MB | ours, s | ffmpeg, s | ratio | decoding, s | ratio | peak memory, MB |
            |---|---|---|---|---|---|---|---|

            """);
        var sizes = new List<(double X, double Y)>();
        foreach (BenchmarkClip clip in clips)
            text.AppendLine(Row(program, clip, results, null, (all, _) => sizes.Add((clip.Pixels, all))));
        text.AppendLine(CultureInfo.InvariantCulture, $"\nProcessor time grows as the number of pixels to the power {Exponent(sizes):0.00}.");
        return text.ToString();
    }

    private static string StartingUp(string program, BenchmarkClip clip)
    {
        ChildRun help = ChildRun.Median(9, program, "--help"), info = ChildRun.Median(5, program, "info", clip.ClipPath);
        return string.Create(CultureInfo.InvariantCulture, $"""
            `--help`: {1000 * help.Seconds:0} ms on the clock (which includes up to 20 ms of the measurement's own step), {1000 * help.ProcessorSeconds:0} ms of processor time.
            `info` of the 720p30 clip, which reads all of its frames: {1000 * info.Seconds:0} ms.
            """);
    }

    private static string Kernels()
    {
        Summary summary = BenchmarkRunner.Run<KernelBenchmarks>(DefaultConfig.Instance.AddJob(Job.ShortRun));
        var text = new StringBuilder("""
            The parts that take the time of an analysis, each alone (BenchmarkDotNet, its short job): a band of 1920 x 128 px of 4:2:0, a streak of
            840 px, a decay of 600 points.

            | kernel | mean | standard deviation | allocated, B |
            |---|---|---|---|

            """);
        foreach (BenchmarkReport report in summary.Reports)
        {
            if (report.ResultStatistics is not { } statistics)
                throw new InvalidOperationException($"{report.BenchmarkCase.Descriptor.WorkloadMethod.Name} did not run.");
            text.AppendLine(CultureInfo.InvariantCulture,
                $"| {report.BenchmarkCase.Descriptor.WorkloadMethod.Name} | {statistics.Mean / 1e6:0.000} ms | {statistics.StandardDeviation / 1e6:0.000} ms | {report.GcStats.GetBytesAllocatedPerOperation(report.BenchmarkCase)} |");
        }

        return text.ToString();
    }

    private static string Row(string program, BenchmarkClip clip, string results, string? python, Action<double, double>? took = null)
    {
        Say(clip.Name);
        int times = clip.Seconds > BenchmarkClip.BasicSeconds ? 1 : _times;
        ChildRun analysis = ChildRun.Median(times, program, "analyze", clip.ClipPath, "--marks", clip.MarksPath, "--out", results, "--json");
        ChildRun ffmpeg = ChildRun.Median(times, "ffmpeg", "-v", "error", "-i", clip.ClipPath, "-f", "null", "-");
        ChildRun decoding = ChildRun.Median(times, program, "info", clip.ClipPath);
        took?.Invoke(analysis.ProcessorSeconds, decoding.ProcessorSeconds);
        double megabytes = new FileInfo(clip.ClipPath).Length / 1e6;
        string row = string.Create(CultureInfo.InvariantCulture,
            $"| {clip.Name} | {megabytes:0.0} | {analysis.Seconds:0.00} | {ffmpeg.Seconds:0.00} | {Ratio(analysis, ffmpeg)} | {decoding.Seconds:0.00} | {Ratio(analysis, decoding)} | {analysis.PeakMegabytes:0} |");
        if (python is null)
            return row;

        using JsonDocument record = JsonDocument.Parse(analysis.Output);
        double tau = record.RootElement.GetProperty("result").GetProperty("fit").GetProperty("parameters").GetProperty("tau_s").GetProperty("value").GetDouble();
        string own = string.Create(CultureInfo.InvariantCulture, $"{100 * ((tau / BenchmarkClip.TauSeconds) - 1):+0.00;-0.00} %");
        if (Script(python, clip) is not ChildRun script)
            return $"{row} not run | | {own} | |";
        double found = double.Parse(script.Output.Split(' ')[0], CultureInfo.InvariantCulture);
        return string.Create(CultureInfo.InvariantCulture,
            $"{row} {script.Seconds:0.00} | {Ratio(script, analysis)} | {own} | {100 * ((found / BenchmarkClip.TauSeconds) - 1):+0.00;-0.00} % |");
    }

    private static string Ratio(ChildRun one, ChildRun other) => string.Create(CultureInfo.InvariantCulture,
        $"{one.Seconds / other.Seconds:0.00} ({one.ProcessorSeconds / other.ProcessorSeconds:0.00})");

    // Opt-in: where Python or one of its packages is missing, the column says so.
    private static ChildRun? Script(string python, BenchmarkClip clip)
    {
        try
        {
            string script = Path.Combine(RepositoryRoot(), "tests", "StreakTrack.Benchmarks", "plain_script.py");
            return ChildRun.Median(_times, python, script, clip.ClipPath, clip.MarksPath);
        }
        catch (Exception e) when (e is InvalidOperationException or System.ComponentModel.Win32Exception)
        {
            Say(e.Message);
            return null;
        }
    }

    // Slope of the straight line through the logarithms.
    private static double Exponent(IReadOnlyList<(double X, double Y)> points)
    {
        double x = points.Average(p => Math.Log(p.X)), y = points.Average(p => Math.Log(p.Y));
        return points.Sum(p => (Math.Log(p.X) - x) * (Math.Log(p.Y) - y)) / points.Sum(p => Math.Pow(Math.Log(p.X) - x, 2));
    }

    /// <summary>The folder of the solution.</summary>
    public static string RepositoryRoot()
    {
        string? folder = AppContext.BaseDirectory;
        while (folder is not null && !File.Exists(Path.Combine(folder, "StreakTrack.sln")))
            folder = Path.GetDirectoryName(folder);
        return folder ?? throw new InvalidOperationException("This runs from within the repository.");
    }

    private static void Say(string what) => Console.Error.WriteLine($"{DateTime.Now:HH:mm:ss} {what}");
}
