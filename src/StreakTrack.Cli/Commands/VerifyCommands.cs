using System.CommandLine;
using System.Globalization;
using StreakTrack.Cli.Grading;
using StreakTrack.Cli.Terminal;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.References;
using StreakTrack.Core.Submissions;
using StreakTrack.Core.Uncertainty;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Submissions;
using StreakTrack.Reporting.ClassTable;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack verify</c>, <c>streaktrack grade</c>, and what a process of the latter does.</summary>
internal static class VerifyCommands
{
    /// <summary>The command for one submission.</summary>
    public static Command Verify(CommandStreams streams)
    {
        var submission = new Argument<string>("SUBMISSION") { Description = "Folder or zip with a clip and its record.json." };
        var folder = new Option<DirectoryInfo?>("--out") { Description = "Folder for the report of the re-run.", HelpName = "DIR" };
        var json = new Option<bool>("--json") { Description = "Print the judgement as JSON." };
        var target = new ReferenceOptions();
        var command = new Command("verify", "Re-run a submission with its own settings and say whether its numbers come out again.") { submission, folder, json };
        target.AddTo(command);
        command.SetAction((parsed, cancellationToken) => Task.Run(() =>
        {
            using var work = new WorkFolder();
            Judgement judgement;
            using (var progress = new ProgressLine(streams))
                judgement = Judge(parsed.GetRequiredValue(submission), work.Path, parsed.GetValue(folder)?.FullName, target.Read(parsed), progress, cancellationToken);
            if (parsed.GetValue(json))
                streams.Output.Write(JudgementJson.Write(judgement));
            else
                Print(judgement, streams.Output);
            return judgement.Verdict is Verdict.Reproduced or Verdict.ReproducedWithinUncertainty ? ExitCode.Done : ExitCode.CheckFailed;
        }, cancellationToken));
        ExampleHelp.AddTo(command, "streaktrack verify submission.zip", "streaktrack verify submission --out again --json",
            "streaktrack verify submission.zip --reference ref        also holds the decay time against a reference of the instrument");
        return command;
    }

    /// <summary>The command for a class.</summary>
    public static Command Grade(CommandStreams streams)
    {
        var folder = new Argument<DirectoryInfo>("FOLDER") { Description = "Folder with one folder or zip for each submission." };
        var outFolder = new Option<DirectoryInfo>("--out") { Description = "Folder for class.html, class.csv and the reports.", HelpName = "DIR", Required = true };
        Option<double?> jobs = SettingOptions.Number("--jobs", "N", "Submissions at once; half of the processors if not given.", 0);
        Option<double?> time = SettingOptions.Number("--time-limit", "S", "Longest time for one submission; 900 if not given.", 0);
        Option<double?> memory = SettingOptions.Number("--memory-limit", "MB", "Most memory for one submission; 2000 if not given.", 0);
        var plan = new Option<bool>("--plan") { Description = "Only write the work list and slurm.sh, and print the number of tasks." };
        Option<double?> task = SettingOptions.Number("--task", "N", "Only do this task of the work list, from 1.", 0);
        var collect = new Option<bool>("--collect") { Description = "Only make the table of the tasks done." };
        var target = new ReferenceOptions();
        var command = new Command("grade", "Verify the submissions of a whole class, each in a process of its own, and make a table.")
        {
            folder, outFolder, jobs, time, memory, plan, task, collect,
        };
        target.AddTo(command);
        command.SetAction(async (parsed, cancellationToken) =>
        {
            string place = parsed.GetRequiredValue(outFolder).FullName;
            double? number = parsed.GetValue(task);
            bool plans = parsed.GetValue(plan), collects = parsed.GetValue(collect);
            if ((plans ? 1 : 0) + (collects ? 1 : 0) + (number is null ? 0 : 1) > 1)
                throw new UsageException("--plan, --task and --collect are steps of their own: give one of them.");
            string submissions = Path.TrimEndingDirectorySeparator(parsed.GetRequiredValue(folder).FullName) + Path.DirectorySeparatorChar;
            if ((place + Path.DirectorySeparatorChar).StartsWith(submissions, StringComparison.Ordinal))
                throw new UsageException("--out lies within the folder of the submissions, and would be taken for one of them.");
            bool lists = number is null && !collects;
            if (!lists && target.IsNamed(parsed))
                throw new UsageException("--task and --collect hold against the reference of the work list: give --reference and --setting to --plan.");
            // Looked at before the work, so that a reference that was moved away does not cost every submission a line.
            if (lists)
                target.Read(parsed);
            WorkList list = lists ? WorkList.Of(parsed.GetRequiredValue(folder).FullName, target.PathOf(parsed), target.SettingOf(parsed)) : WorkList.Read(place);
            if (lists)
                list.Write(place);
            if (number is not null && list.Reference is string reference)
                ReferenceTarget.Of(ReferenceJson.Read(reference), list.Setting, reference);
            var limits = new ProcessLimits(TimeSpan.FromSeconds(parsed.GetValue(time) ?? 900), (long)(1e6 * (parsed.GetValue(memory) ?? 2000)));
            if (plans)
            {
                SlurmScript.Write(IsolatedProcess.OwnCommand, parsed.GetRequiredValue(folder).FullName, place, list.Items.Count, limits);
                streams.Output.WriteLine(list.Items.Count.ToString(CultureInfo.InvariantCulture));
                return ExitCode.Done;
            }

            var run = new ClassRun(list, place, limits, streams);
            if (number is double n)
            {
                if (!(n >= 1 && n <= list.Items.Count && n == Math.Floor(n)))
                    throw new UsageException($"The work list has the tasks 1 to {list.Items.Count}.");
                await run.RunAsync((int)n - 1, cancellationToken);
                return ExitCode.Done;
            }

            if (!collects)
                await run.RunAllAsync(Math.Max(1, (int)(parsed.GetValue(jobs) ?? (Environment.ProcessorCount / 2.0))), cancellationToken);
            return run.Collect();
        });
        ExampleHelp.AddTo(command,
            "streaktrack grade class --out graded                the same line again continues after an interruption",
            "streaktrack grade class --out graded --jobs 4 --time-limit 600",
            "streaktrack grade class --out graded --plan         then --task 1, --task 2, … anywhere, then --collect");
        return command;
    }

    /// <summary>What a child process of <c>grade</c> runs; not for people.</summary>
    public static Command JudgeOne()
    {
        var submission = new Argument<string>("SUBMISSION");
        var result = new Option<string>("--result") { Required = true };
        var report = new Option<string>("--report") { Required = true };
        var work = new Option<string>("--work") { Required = true };
        var target = new ReferenceOptions();
        var command = new Command("judge", "One submission of a class.") { submission, result, report, work };
        target.AddTo(command);
        command.Hidden = true;
        command.SetAction((parsed, cancellationToken) => Task.Run(() =>
        {
            IsolatedProcess.EndWithParent();
            Judgement judgement = Judge(
                parsed.GetRequiredValue(submission), parsed.GetRequiredValue(work), parsed.GetRequiredValue(report), target.Read(parsed), null,
                cancellationToken);
            SafeFile.Write(parsed.GetRequiredValue(result), JudgementJson.Write(judgement));
            return ExitCode.Done;
        }, cancellationToken));
        return command;
    }

    private static Judgement Judge(
        string submission, string work, string? report, ReferenceTarget? reference, IProgress<AnalysisProgress>? progress,
        CancellationToken cancellationToken)
    {
        (Judgement judgement, ClipAnalysis? rerun) = SubmissionJudge.Judge(submission, work, reference, progress, cancellationToken);
        if (rerun is not null && report is not null)
            AnalysisReport.Write(rerun.Record, rerun.Series, rerun.SeriesAnalysis, AnalysisReport.PicturesOf(rerun), report);
        return judgement;
    }

    private static void Print(Judgement judgement, TextWriter output)
    {
        output.WriteLine($"{judgement.Submission}: {ClassCsv.NameOf(judgement.Verdict)}");
        Line("tau stated / s", judgement.StatedTauS);
        Line("tau of the re-run / s", judgement.RerunTauS);
        Line("tau of an automatic run / s", judgement.AutomaticTauS);
        Error("E_n, stated to automatic", judgement.NormalisedError);
        if (judgement.ReferenceTauS is not null)
        {
            Line("tau of the reference / s", judgement.ReferenceTauS);
            Error("E_n, stated to reference", judgement.ReferenceNormalisedError);
        }

        foreach (Finding reason in judgement.Reasons)
        {
            output.WriteLine($"{reason.Severity.ToString().ToLowerInvariant()} {reason.Code}: {reason.Message}");
            if (reason.Severity != FindingSeverity.Info)
                output.WriteLine("    " + reason.Advice);
        }

        void Error(string name, double? value)
        {
            if (value is double error)
            {
                output.WriteLine(string.Create(CultureInfo.InvariantCulture,
                    $"  {name,-30} {error:0.00} ({(NormalisedError.Agrees(error) ? "agrees" : "disagrees")}: at most 1 in magnitude, ISO/IEC 17043, k = 2)"));
            }
        }

        void Line(string name, QuantityRecord? quantity)
        {
            if (quantity is not null)
                output.WriteLine($"  {name,-30} {Notation.Concise(new UncertainValue(quantity.Value, quantity.StandardUncertainty ?? double.NaN))}");
        }
    }

    private sealed class WorkFolder : IDisposable
    {
        public string Path { get; } = Directory.CreateTempSubdirectory("streaktrack-verify-").FullName;

        public void Dispose() => Directory.Delete(Path, recursive: true);
    }
}
