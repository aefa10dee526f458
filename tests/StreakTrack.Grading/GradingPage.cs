using System.Globalization;
using System.Text;
using StreakTrack.Grading.Studies;
using StreakTrack.Reporting.ClassTable;

namespace StreakTrack.Grading;

/// <summary>Writes docs/grading-measured.md.</summary>
internal static class GradingPage
{
    /// <summary>Processes that want to run, at most, on a machine without work.</summary>
    private const double QuietLoad = 0.5;

    public static string Write(
        IReadOnlyList<FoundVerdict> found, GradedClass whole, KillStudy kills, PaceStudy pace, IReadOnlyList<RepeatStudy> repeats, SlurmStudy? slurm)
    {
        var page = new StringBuilder();
        int wrong = found.Count(f => f.Misses.Count > 0);
        page.Append(CultureInfo.InvariantCulture, $"""
            # Grading, measured

            Written by `dotnet run --project tests/StreakTrack.Grading -c Release` from what it measured; not to be edited by hand. The class is made anew by
            each run: simulated clips of at most 960 by 540 pixels, most of them a few seconds long, and what students and others might do with them.

            ## A class of {found.Count} submissions with known faults

            {found.Count - wrong} of {found.Count} were judged as is due: the verdict, every finding that must be there, no finding of those that must not, and the
            submissions that resemble it, all of them and no other. E_n is that of the stated decay time against an automatic run.

            | submission | what is wrong with it | verdict due | verdict found | findings due | E_n | missed |
            | --- | --- | --- | --- | --- | --- | --- |

            """);
        foreach (FoundVerdict f in found)
        {
            // Adding 0 takes the sign off a zero.
            string error = double.TryParse(f.NormalisedError, CultureInfo.InvariantCulture, out double e) ? (Math.Round(e, 2) + 0.0).ToString("0.00", CultureInfo.InvariantCulture) : "";
            string due = string.Join(", ", f.Expected.Codes.Concat(f.Expected.Resembles.Select(r => $"resembles {r}")));
            page.Append(CultureInfo.InvariantCulture, $"| `{f.Expected.Submission}` | {f.Expected.Fault} | {ClassCsv.NameOf(f.Expected.Verdict)} | {f.Verdict} | {due} | {error} | {string.Join("; ", f.Misses)} |\n");
        }

        page.Append(CultureInfo.InvariantCulture, $"""

            ## Killed and continued

            The run of this class, two submissions at once, was killed {kills.DoneBefore.Count} times with SIGKILL at random moments spread over the run and continued by the same line. Submissions done when it was
            killed: {string.Join(", ", kills.DoneBefore)}. The final `class.csv` and `class.html` are {Identical(kills.Table.TableSha256, whole.TableSha256)} those of an undisturbed run, the judgements
            are {Identical(kills.Table.ResultsSha256, whole.ResultsSha256)} its judgements; {(kills.LeftOver.Count == 0 ? "no file of an unfinished run is left over" : "left over: " + string.Join(", ", kills.LeftOver))}.

            ## Throughput

            | submissions at once | time / s | submissions a minute |
            | --- | --- | --- |
            | 1 | {pace.OneAtATimeSeconds:0.0} | {60 * pace.Submissions / pace.OneAtATimeSeconds:0.0} |
            | 2 | {pace.TwoAtOnceSeconds:0.0} | {60 * pace.Submissions / pace.TwoAtOnceSeconds:0.0} |

            {pace.Submissions} of the submissions on {Environment.ProcessorCount} processors, the shorter of two runs each. {LoadOf(pace)} The
            tables of all these runs are {(pace.Identical ? "byte for byte identical" : "DIFFERENT")}. The whole class took {whole.Seconds:0} s with two at once.

            ## The same clip with the same record

            | submission | identical files | different files |
            | --- | --- | --- |

            """);
        foreach (RepeatStudy r in repeats)
            page.Append(CultureInfo.InvariantCulture, $"| `{r.Clip}` | {string.Join(", ", r.IdenticalFiles)} | {(r.DifferentFiles.Count == 0 ? "none" : string.Join(", ", r.DifferentFiles))} |\n");
        page.Append(slurm is null
            ? "\n## Array job of Slurm\n\nNo Slurm took work where this was measured.\n"
            : string.Create(CultureInfo.InvariantCulture, $"""

                ## Array job of Slurm

                {slurm.Version}, a single node: {slurm.Tasks} tasks and the job that makes the table took {slurm.Seconds:0} s. The table is {Identical(slurm.Table.TableSha256, whole.TableSha256)} that of the plain run, the
                judgements are {Identical(slurm.Table.ResultsSha256, whole.ResultsSha256)} its judgements.

                """));
        return page.ToString();
    }

    private static string LoadOf(PaceStudy pace) => pace.LoadBefore is not double load ? "What else the machine did is not known."
        : load < QuietLoad ? "The machine did nothing else when they began."
        : string.Create(CultureInfo.InvariantCulture,
            $"In the minute before they began, {load:0.0} processes of other work wanted to run on the average, so that the times are not those of a quiet machine.");

    private static string Identical(string a, string b) => a == b ? "byte for byte identical to" : "DIFFERENT from";
}
