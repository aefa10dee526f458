using System.Globalization;
using System.Text.Json;
using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Jobs;
using BenchmarkDotNet.Reports;
using BenchmarkDotNet.Running;
using BenchmarkDotNet.Toolchains.InProcess.Emit;

namespace StreakTrack.Benchmarks;

/// <summary>Measures the whole job of the published program against decoding alone and against a plain script, and the kernels, and writes
/// docs/performance.md.</summary>
/// <param name="program">The published program.</param>
/// <param name="folder">Where clips are made and measurements kept.</param>
/// <param name="python">The Python to run the script with.</param>
/// <param name="repetitions">Runs of each program on a clip, at least 1.</param>
/// <param name="longestSeconds">Length of the longest clip, in s.</param>
internal sealed class WholeJob(string program, string folder, string python, int repetitions, double longestSeconds)
{
    /// <summary>The whole analysis.</summary>
    public const string Ours = "ours";

    /// <summary>The ffmpeg program decoding into nothing.</summary>
    public const string Ffmpeg = "ffmpeg";

    /// <summary>All frames read with the same reader.</summary>
    public const string Decoding = "decoding";

    /// <summary>A clip told from its own description and index.</summary>
    public const string Info = "info";

    /// <summary>The plain script.</summary>
    public const string Script = "script";

    /// <summary>The program telling how it is used.</summary>
    public const string Help = "help";

    /// <summary>Name in place of a clip where there is none.</summary>
    public const string NoClip = "";

    // As much as sixty seconds of 1080p30 is measured several times, more only once: over minutes, disturbances average out.
    private const double MostPixelsRepeated = 5e9;

    private const int StartRepetitions = 9;

    private readonly Measured _measured = Measured.GoOn(Path.Combine(folder, "measured.json"), program);

    /// <summary>Measures what has not been measured yet, and writes the page after every clip.</summary>
    public void Run()
    {
        Say("making clips");
        var clips = BenchmarkClips.Make(folder, longestSeconds);
        var page = new PerformancePage(_measured, clips);
        for (int k = 0; k < StartRepetitions; k++)
            Once(NoClip, Help, k, () => ChildRun.Of(program, "--help"));
        foreach (BenchmarkClip clip in clips.All)
        {
            Say(clip.Name);
            for (int k = 0; k < StartRepetitions; k++)
                Once(clip.Name, Info, k, () => ChildRun.Of(program, "info", clip.ClipPath));
            int times = clip.AllPixels > MostPixelsRepeated ? 1 : repetitions;

            // One after the other, so that what disturbs the machine for a while disturbs all of them.
            for (int k = 0; k < times; k++)
            {
                Once(clip.Name, Ours, k, () => Analysis(clip), AnalysedTau);
                Once(clip.Name, Ffmpeg, k, () => ChildRun.Of("ffmpeg", "-v", "error", "-i", clip.ClipPath, "-f", "null", "-"));
                Once(clip.Name, Decoding, k, () => ChildRun.Of(program, "info", clip.ClipPath, "--decode"));
                if (clips.Basic.Contains(clip))
                    Once(clip.Name, Script, k, () => ChildRun.Of(python, ScriptPath(), clip.ClipPath, clip.MarksPath), PrintedTau);
            }

            page.Write();
        }

        if (_measured.Kernels.Count == 0)
            _measured.Add(Kernels());
        page.Write();
        Say("done");
    }

    private void Once(string clip, string what, int repetition, Func<ChildRun> run, Func<string, double>? tau = null)
    {
        if (_measured.Runs.Any(r => (r.Clip, r.What, r.Repetition) == (clip, what, repetition)))
            return;
        try
        {
            double load = Load();
            DateTime started = DateTime.UtcNow;
            ChildRun took = run();
            _measured.Add(new MeasuredRun(
                clip, what, repetition, started, load, took.Seconds, took.ProcessorSeconds, took.PeakMegabytes, tau?.Invoke(took.Output)));
        }
        catch (Exception e) when (what == Script && e is InvalidOperationException or System.ComponentModel.Win32Exception)
        {
            Say(e.Message);   // Opt-in: where Python or one of its packages is missing, the page says so.
        }
    }

    private ChildRun Analysis(BenchmarkClip clip) => ChildRun.Of(
        program, "analyze", clip.ClipPath, "--marks", clip.MarksPath, "--out", Path.Combine(folder, "result"), "--reader", "ffmpeg", "--json");

    private static double AnalysedTau(string output)
    {
        using JsonDocument record = JsonDocument.Parse(output);
        return record.RootElement.GetProperty("result").GetProperty("fit").GetProperty("parameters").GetProperty("tau_s").GetProperty("value").GetDouble();
    }

    private static double PrintedTau(string output) => double.Parse(output.Split(' ')[0], CultureInfo.InvariantCulture);

    private static string ScriptPath() => Path.Combine(RepositoryRoot(), "tests", "StreakTrack.Benchmarks", "plain_script.py");

    private static IEnumerable<MeasuredKernel> Kernels()
    {
        // In this process, which saves building a program for each.
        IConfig config = DefaultConfig.Instance.AddJob(Job.ShortRun.WithToolchain(InProcessEmitToolchain.Instance));
        foreach (Type type in new[] { typeof(KernelBenchmarks), typeof(FitBenchmarks) })
        {
            foreach (BenchmarkReport report in BenchmarkRunner.Run(type, config).Reports)
            {
                string name = report.BenchmarkCase.Descriptor.WorkloadMethodDisplayInfo.Trim('\'');
                if (report.ResultStatistics is not { } statistics)
                    throw new InvalidOperationException($"'{name}' did not run.");
                yield return new MeasuredKernel(name, statistics.Mean / 1e6, statistics.StandardDeviation / 1e6,
                    report.GcStats.GetBytesAllocatedPerOperation(report.BenchmarkCase) ?? 0);
            }
        }
    }

    private static double Load() => File.Exists("/proc/loadavg")
        ? double.Parse(File.ReadAllText("/proc/loadavg").Split(' ')[0], CultureInfo.InvariantCulture)
        : double.NaN;

    /// <summary>The folder of the solution.</summary>
    public static string RepositoryRoot()
    {
        string? path = AppContext.BaseDirectory;
        while (path is not null && !File.Exists(Path.Combine(path, "StreakTrack.sln")))
            path = Path.GetDirectoryName(path);
        return path ?? throw new InvalidOperationException("This runs from within the repository.");
    }

    private static void Say(string what) => Console.Error.WriteLine($"{DateTime.Now:HH:mm:ss} {what}");
}
