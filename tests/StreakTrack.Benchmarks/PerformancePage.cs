using System.Globalization;
using System.Text;

namespace StreakTrack.Benchmarks;

/// <summary>Writes docs/performance.md from what has been measured.</summary>
internal sealed class PerformancePage(Measured measured, BenchmarkClips clips)
{
    private const double MostOverFfmpeg = 1.3, MostOverDecoding = 1.25, LeastUnderScript = 3, MostMegabytes = 500, MostFitMs = 50, MostStudyMs = 2000;

    private const double Largest4KPixels = 8e6;

    private const string RatioHead = """
        | clip | MB | ours, s | ffmpeg, s | ratio | decoding, s | ratio | peak memory, MB |
        |---|---|---|---|---|---|---|---|

        """;

    /// <summary>Writes the page.</summary>
    public void Write()
    {
        var text = new StringBuilder(Head());
        foreach ((string title, string? part) in new[]
        {
            ("Ten seconds of clip", Basic()), ("Against the length of the clip", Lengths()), ("Against the size of the frame", Sizes()),
            ("Starting up", StartingUp()), ("Kernels", Kernels()), ("Against what was wanted", Wanted()),
        })
        {
            if (part is not null)
                text.Append(CultureInfo.InvariantCulture, $"\n## {title}\n\n{part.Trim()}\n");
        }

        File.WriteAllText(Path.Combine(WholeJob.RepositoryRoot(), "docs", "performance.md"), text.ToString());
    }

    private string Head()
    {
        double[] loads = [.. measured.Runs.Select(r => r.Load).Order()];
        int most = measured.Runs.Where(r => r.What == WholeJob.Ours).Max(r => r.Repetition) + 1;
        return string.Create(CultureInfo.InvariantCulture, $"""
            # Speed and memory, measured

            Written by `dotnet run --project tests/StreakTrack.Benchmarks -c Release -- whole PROGRAM/streaktrack CLIPS`, where PROGRAM is the folder
            of the published program and CLIPS one for the clips; numbers here are never edited by hand.

            Measured {measured.Runs.Min(r => r.Started):yyyy-MM-dd HH:mm} to {measured.Runs.Max(r => r.Started):HH:mm} UTC on {Environment.ProcessorCount} processors. {LoadStatement(loads)}

            Each time is that of a whole process. The programs take turns on a clip, {Times(most)}; stated
            are medians, and a ratio is the median of the ratios of each turn. *ours* is `analyze` with report, figures and all; *ffmpeg* is
            `ffmpeg -i CLIP -f null -`, which takes as many threads as *ours* lets it take; *decoding* is `info --decode`, which reads every frame with
            the same reader and keeps its time; *script* is `tests/StreakTrack.Benchmarks/plain_script.py`, run with OpenCV and SciPy. Ratios are
            given twice: of the time on the clock, and, in brackets, of the time of all processors together, which other work on the machine
            disturbs less. Memory is the largest resident memory of the program together with its decoders; libraries that several of them share
            are counted for each.

            """);
    }

    private static string Times(int most) =>
        most == 1 ? "once each" : string.Create(CultureInfo.InvariantCulture, $"{most} times each (once for the longest clips)");

    // Of the measurement itself: about one program with as many threads as there are processors.
    private static string LoadStatement(double[] loads)
    {
        double median = loads[loads.Length / 2], limit = 1.5 * Environment.ProcessorCount;
        string range = string.Create(CultureInfo.InvariantCulture, $"The load before each run was {median:0.0} (median), at most {loads[^1]:0.0}");
        return median > limit
            ? range + ": **other work kept the machine busy, so times on the clock and their ratios are provisional**; the ratios in brackets say more."
            : range + ", which is this measurement's own.";
    }

    private string? Basic()
    {
        var text = new StringBuilder("""
            The clips are simulated decays with noise, encoded with as many bits as phones spend; the 4K one is enlarged from 1080p. Starting up,
            looking for the streak, fitting and drawing the report take the same time for a short clip as for a long one, so the ratios of short
            clips are the worst.

            | clip | MB | ours, s | ffmpeg, s | ratio | decoding, s | ratio | peak memory, MB | script, s | script over ours | tau - truth, ours | script |
            |---|---|---|---|---|---|---|---|---|---|---|---|

            """);
        int rows = 0;
        foreach (BenchmarkClip clip in clips.Basic.Where(IsMeasured))
        {
            rows++;
            text.Append(Row(clip));
            text.AppendLine(Runs(clip.Name, WholeJob.Script).Length > 0
                ? $" {Number(Seconds(clip.Name, WholeJob.Script))} | {Ratio(clip.Name, WholeJob.Script, WholeJob.Ours)} | {TauError(clip, WholeJob.Ours)} | {TauError(clip, WholeJob.Script)} |"
                : $" not run | | {TauError(clip, WholeJob.Ours)} | |");
        }

        return rows > 0 ? text.ToString() : null;
    }

    private string? Lengths()
    {
        BenchmarkClip[] seen = [.. clips.Lengths.Where(IsMeasured)], all = [.. seen, .. clips.Others.Where(IsMeasured)];
        if (seen.Length < 2)
            return null;
        var text = new StringBuilder("The steady beginning repeated, then the decay.\n\n" + RatioHead);
        foreach (BenchmarkClip clip in all)
            text.AppendLine(Row(clip));
        double further = seen[^1].Seconds - seen[0].Seconds;
        double PerSecond(string what) => (ProcessorSeconds(seen[^1].Name, what) - ProcessorSeconds(seen[0].Name, what)) / further;
        double at0 = ProcessorSeconds(seen[0].Name, WholeJob.Ours) - (PerSecond(WholeJob.Ours) * seen[0].Seconds);
        text.AppendLine(CultureInfo.InvariantCulture, $"""

            Processor time of the 1080p30 clips grows as the length to the power {Exponent(seen.Select(c => (c.Seconds, ProcessorSeconds(c.Name, WholeJob.Ours)))):0.00}, peak memory to the power
            {Exponent(seen.Select(c => (c.Seconds, Megabytes(c.Name)))):0.00}. A further second of clip costs {1000 * PerSecond(WholeJob.Ours):0} ms of processor time, of which decoding takes
            {1000 * PerSecond(WholeJob.Decoding):0} ms; what does not depend on the length is {at0:0.0} s.
            """);
        return text.ToString();
    }

    private string? Sizes()
    {
        BenchmarkClip[] seen = [.. clips.Sizes.Where(IsMeasured)];
        if (seen.Length < 2)
            return null;
        var text = new StringBuilder("Ten seconds at 60 frames a second, H.264, with bits in proportion to the pixels.\n\n" + RatioHead);
        foreach (BenchmarkClip clip in seen)
            text.AppendLine(Row(clip));
        text.AppendLine(CultureInfo.InvariantCulture,
            $"\nProcessor time grows as the number of pixels to the power {Exponent(seen.Select(c => ((double)c.Pixels, ProcessorSeconds(c.Name, WholeJob.Ours)))):0.00}, that of decoding to the power {Exponent(seen.Select(c => ((double)c.Pixels, ProcessorSeconds(c.Name, WholeJob.Decoding)))):0.00}.");
        return text.ToString();
    }

    private string? StartingUp()
    {
        if (Runs(WholeJob.NoClip, WholeJob.Help).Length == 0)
            return null;
        var text = new StringBuilder(string.Create(CultureInfo.InvariantCulture,
            $"`--help`: {1000 * Seconds(WholeJob.NoClip, WholeJob.Help):0} ms on the clock, {1000 * ProcessorSeconds(WholeJob.NoClip, WholeJob.Help):0} ms of processor time.\n"));
        BenchmarkClip[] bySize = [.. clips.All.Where(IsMeasured).OrderBy(c => c.AllPixels)];
        foreach (BenchmarkClip clip in bySize.Take(1).Concat(bySize.Skip(1).TakeLast(1)))
        {
            text.Append(string.Create(CultureInfo.InvariantCulture,
                $"`info` of the {clip.Name} clip, from the file's own index: {1000 * Seconds(clip.Name, WholeJob.Info):0} ms; with `--decode` {Seconds(clip.Name, WholeJob.Decoding):0.0} s.\n"));
        }

        return text.ToString();
    }

    private string? Kernels()
    {
        if (measured.Kernels.Count == 0)
            return null;
        var text = new StringBuilder("""
            The parts that take the time of an analysis, each alone (BenchmarkDotNet, its short job). Frames have a band of 1920 x 128 px of 4:2:0,
            the streak is 840 px long, a series has 600 points.

            | kernel | mean, ms | standard deviation, ms | allocated, B |
            |---|---|---|---|

            """);
        foreach (MeasuredKernel kernel in measured.Kernels)
        {
            text.AppendLine(CultureInfo.InvariantCulture,
                $"| {kernel.Name} | {kernel.MeanMs:0.000} | {kernel.StandardDeviationMs:0.000} | {(kernel.AllocatedBytes > 0 ? kernel.AllocatedBytes : "")} |");
        }

        return text.ToString();
    }

    // Each bar with what was found, so that a reader need not compare columns.
    private string? Wanted()
    {
        BenchmarkClip[] seen = [.. clips.All.Where(IsMeasured)];
        if (seen.Length == 0)
            return null;
        var text = new StringBuilder("""
            Times on the clock count; what the processor time alone would give stands beside them.

            | wanted | of | found | | by processor time | |
            |---|---|---|---|---|---|

            """);
        foreach (BenchmarkClip clip in seen)
        {
            Both($"at most {MostOverFfmpeg} times ffmpeg", clip, WholeJob.Ours, WholeJob.Ffmpeg, v => v <= MostOverFfmpeg);
            Both($"at most {MostOverDecoding} times decoding", clip, WholeJob.Ours, WholeJob.Decoding, v => v <= MostOverDecoding);
        }

        foreach (BenchmarkClip clip in seen.Where(c => Runs(c.Name, WholeJob.Script).Length > 0))
        {
            Both($"at least {LeastUnderScript} times faster than the script", clip, WholeJob.Script, WholeJob.Ours, v => v >= LeastUnderScript);
            One("tau nearer to the truth than the script's (ratio of the errors)", clip.Name,
                Math.Abs(Tau(clip, WholeJob.Ours)) / Math.Abs(Tau(clip, WholeJob.Script)), v => v < 1);
        }

        foreach (BenchmarkClip clip in seen.Where(c => c.Pixels > Largest4KPixels))
            One($"less than {MostMegabytes} MB at 4K", clip.Name, Megabytes(clip.Name), v => v < MostMegabytes);
        foreach ((string name, double most) in new[] { (KernelBenchmarks.DecayFitName, MostFitMs), (KernelBenchmarks.StudyName, MostStudyMs) })
        {
            if (measured.Kernels.FirstOrDefault(k => k.Name == name) is { } kernel)
                One($"less than {most} ms", name, kernel.MeanMs, v => v < most);
        }

        return text.ToString();

        void Both(string wanted, BenchmarkClip clip, string one, string other, Func<double, bool> meets)
        {
            double clock = Ratio(clip.Name, one, other, r => r.Seconds), processor = Ratio(clip.Name, one, other, r => r.ProcessorSeconds);
            text.AppendLine(CultureInfo.InvariantCulture,
                $"| {wanted} | {clip.Name} | {Number(clock)} | {Verdict(meets(clock))} | {Number(processor)} | {Verdict(meets(processor))} |");
        }

        void One(string wanted, string of, double found, Func<double, bool> meets) => text.AppendLine(CultureInfo.InvariantCulture,
            $"| {wanted} | {of} | {(found >= 100 ? $"{found:0}" : Number(found))} | {Verdict(meets(found))} | | |");

        static string Verdict(bool met) => met ? "met" : "missed";
    }

    private string Row(BenchmarkClip clip) => string.Create(CultureInfo.InvariantCulture,
        $"| {clip.Name} | {new FileInfo(clip.ClipPath).Length / 1e6:0.0} | {Number(Seconds(clip.Name, WholeJob.Ours))} | {Number(Seconds(clip.Name, WholeJob.Ffmpeg))} | {Ratio(clip.Name, WholeJob.Ours, WholeJob.Ffmpeg)} | {Number(Seconds(clip.Name, WholeJob.Decoding))} | {Ratio(clip.Name, WholeJob.Ours, WholeJob.Decoding)} | {Megabytes(clip.Name):0} |");

    private bool IsMeasured(BenchmarkClip clip) =>
        new[] { WholeJob.Ours, WholeJob.Ffmpeg, WholeJob.Decoding }.All(what => Runs(clip.Name, what).Length > 0);

    private MeasuredRun[] Runs(string clip, string what) => [.. measured.Runs.Where(r => r.Clip == clip && r.What == what).OrderBy(r => r.Repetition)];

    private double Seconds(string clip, string what) => Median(Runs(clip, what).Select(r => r.Seconds));

    private double ProcessorSeconds(string clip, string what) => Median(Runs(clip, what).Select(r => r.ProcessorSeconds));

    private double Megabytes(string clip) => Runs(clip, WholeJob.Ours).Max(r => r.PeakMegabytes);

    private string Ratio(string clip, string one, string other) =>
        $"{Number(Ratio(clip, one, other, r => r.Seconds))} ({Number(Ratio(clip, one, other, r => r.ProcessorSeconds))})";

    private double Ratio(string clip, string one, string other, Func<MeasuredRun, double> of) => Median(Runs(clip, one)
        .Join(Runs(clip, other), r => r.Repetition, r => r.Repetition, (a, b) => of(a) / of(b)));

    private double Tau(BenchmarkClip clip, string what) => (Runs(clip.Name, what)[0].TauSeconds!.Value / BenchmarkClip.TauSeconds) - 1;

    private string TauError(BenchmarkClip clip, string what) =>
        string.Create(CultureInfo.InvariantCulture, $"{100 * Tau(clip, what):+0.00;-0.00} %");

    private static string Number(double value) => value.ToString("0.00", CultureInfo.InvariantCulture);

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
    }

    // Slope of the straight line through the logarithms.
    private static double Exponent(IEnumerable<(double X, double Y)> points)
    {
        (double X, double Y)[] logs = [.. points.Select(p => (Math.Log(p.X), Math.Log(p.Y)))];
        double x = logs.Average(p => p.X), y = logs.Average(p => p.Y);
        return logs.Sum(p => (p.X - x) * (p.Y - y)) / logs.Sum(p => (p.X - x) * (p.X - x));
    }
}
