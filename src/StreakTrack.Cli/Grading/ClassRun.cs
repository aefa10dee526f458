using System.Diagnostics;
using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Submissions;
using StreakTrack.Reporting.ClassTable;

namespace StreakTrack.Cli.Grading;

/// <summary>Judges the submissions of a work list, each in a process of its own, and makes the table.</summary>
internal sealed class ClassRun(WorkList list, string outFolder, ProcessLimits limits, CommandStreams streams)
{
    private const string ResultsFolder = "results";

    /// <summary>Does what is not done yet, several at once.</summary>
    public async Task RunAllAsync(int jobs, CancellationToken cancellationToken)
    {
        int[] open = [.. Enumerable.Range(0, list.Items.Count).Where(i => JudgementJson.TryRead(ResultPath(list.Items[i])) is null)];
        if (open.Length < list.Items.Count)
            streams.Error.WriteLine($"{list.Items.Count - open.Length} of {list.Items.Count} submissions were done before.");
        int done = 0;
        long start = Stopwatch.GetTimestamp();
        var options = new ParallelOptions { MaxDegreeOfParallelism = jobs, CancellationToken = cancellationToken };
        await Parallel.ForEachAsync(open, options, async (i, token) =>
        {
            await RunAsync(i, token);
            int count = Interlocked.Increment(ref done);
            if (streams.ErrorIsTerminal)
            {
                double left = Stopwatch.GetElapsedTime(start).TotalSeconds / count * (open.Length - count);
                streams.Error.Write(string.Create(CultureInfo.InvariantCulture, $"\r{count} of {open.Length} submissions, about {left:0} s to go   "));
            }
        });
        if (streams.ErrorIsTerminal)
            streams.Error.WriteLine();

        // What runs that were killed left unpacked or half written.
        SafeFile.RemovePartial(outFolder);
        SafeFile.RemovePartial(Path.Combine(outFolder, ResultsFolder));
        string work = Path.Combine(outFolder, "work");
        if (Directory.Exists(work))
            Directory.Delete(work, recursive: true);
    }

    /// <summary>Judges one submission, whatever was done before.</summary>
    /// <param name="index">Its place in the list, from 0.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public async Task RunAsync(int index, CancellationToken cancellationToken)
    {
        WorkItem item = list.Items[index];
        string result = ResultPath(item), work = Path.Combine(outFolder, "work", $"{item.Stamp}-{Environment.ProcessId}");
        string name = SubmissionFiles.Shown(Path.GetFileName(item.Path));
        try
        {
            (ProcessEnd end, int code, string error) = await IsolatedProcess.RunAsync(
                ["judge", item.Path, "--result", result, "--report", ReportPath(item), "--work", work, .. HeldAgainst()], limits, cancellationToken);
            string? problem = end switch
            {
                ProcessEnd.TimeLimit => $"It took longer than {limits.Time.TotalSeconds.ToString("0.#", CultureInfo.InvariantCulture)} s.",
                ProcessEnd.MemoryLimit => $"It took more than {limits.MemoryBytes >> 20} MiB of memory.",
                _ when code == ExitCode.Machine => throw new IOException(error.Trim()),
                _ when code != ExitCode.Done => $"The process ended with code {code}.",
                _ => null,
            };
            if (problem is not null)
                SafeFile.Write(result, JudgementJson.Write(Judgement.Without(name, FindingKinds.LimitExceeded.With(problem))));
        }
        finally
        {
            if (Directory.Exists(work))
                Directory.Delete(work, recursive: true);
        }
    }

    /// <summary>Makes the table of what is done.</summary>
    /// <returns>The exit code: done when all numbers were reproduced.</returns>
    public int Collect()
    {
        Judgement?[] found = [.. list.Items.Select(i => JudgementJson.TryRead(ResultPath(i)))];
        List<string>[] alike = Alike(found);
        ClassRow[] rows = [.. found.Select((j, i) => new ClassRow(
            j ?? Judgement.Without(SubmissionFiles.Shown(Path.GetFileName(list.Items[i].Path)), FindingKinds.NotJudged.With($"Not done yet; repeat task {i + 1}.")),
            File.Exists(Path.Combine(ReportPath(list.Items[i]), "report.html")) ? $"reports/{list.Items[i].Stamp}/report.html" : null,
            alike[i]))];
        SafeFile.Write(Path.Combine(outFolder, "class.csv"), ClassCsv.Write(rows));
        SafeFile.Write(Path.Combine(outFolder, "class.html"), ClassPage.Write(rows));
        foreach (IGrouping<Verdict, ClassRow> group in rows.GroupBy(r => r.Judgement.Verdict).OrderBy(g => g.Key))
            streams.Output.WriteLine($"{ClassCsv.NameOf(group.Key),-34} {group.Count()}");
        streams.Output.WriteLine("table: " + Path.Combine(outFolder, "class.html"));
        return rows.All(r => r.Judgement.Verdict is Verdict.Reproduced or Verdict.ReproducedWithinUncertainty) ? ExitCode.Done : ExitCode.CheckFailed;
    }

    /// <summary>For each submission, those that it is like. Every pair is looked at once: the comparison of two long series takes its time.</summary>
    private static List<string>[] Alike(Judgement?[] all)
    {
        List<string>[] alike = [.. all.Select(_ => new List<string>())];
        for (int i = 0; i < all.Length; i++)
        {
            for (int k = 0; k < i; k++)
            {
                if (all[i] is not Judgement one || all[k] is not Judgement other || LikenessOf(one, other) is not string likeness)
                    continue;
                alike[i].Add($"{other.Submission} ({likeness})");
                alike[k].Add($"{one.Submission} ({likeness})");
            }
        }

        return alike;
    }

    private static string? LikenessOf(Judgement one, Judgement other)
    {
        if (one.ClipSha256 is not null && one.ClipSha256 == other.ClipSha256)
            return "the same file";
        var likeness = Resemblance.Of(one, other);
        return likeness.IsHint
            ? string.Create(CultureInfo.InvariantCulture, $"pictures alike by {likeness.Pictures:0.00}, streaks {(likeness.SeriesAlike ? $"by {likeness.Series:0.00}" : "not alike")}") : null;
    }

    private string[] HeldAgainst() => list.Reference is not string reference ? []
        : list.Setting is not double setting ? ["--reference", reference]
        : ["--reference", reference, "--setting", setting.ToString("R", CultureInfo.InvariantCulture)];

    private string ResultPath(WorkItem item) => Path.Combine(outFolder, ResultsFolder, item.Stamp + ".json");

    private string ReportPath(WorkItem item) => Path.Combine(outFolder, "reports", item.Stamp);
}
