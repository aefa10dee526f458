using System.Globalization;
using System.Text;
using StreakTrack.Robustness.Faults;
using StreakTrack.Robustness.Fuzzing;

namespace StreakTrack.Robustness;

/// <summary>Writes docs/robustness.md.</summary>
internal static class RobustnessPage
{
    /// <summary>The page.</summary>
    public static string Write(IReadOnlyList<FuzzCount> counts, IReadOnlyList<FaultResult> faults)
    {
        var page = new StringBuilder("""
            # Robustness

            Written by `dotnet run --project tests/StreakTrack.Robustness -c Release`; numbers here are never edited by hand.

            ## Hostile files

            Seeded mutants of sound files: bytes, numbers (NaN, 1e308, -0, huge integers), lines, quotes, byte order marks, NUL, lone surrogates, keys that are
            there twice, empty entries, deep nesting, lines of 10 MB. *Taken*: there was a result, with finite numbers. *Refused*: a message
            or a verdict said what is wrong. *Hangs*: no end within 30 s. *Faults*: any other exception, a crash of the process, more than 2 GiB allocated for
            one input below 1 MiB (readers and commands) or 1 GiB of resident memory (decoders), a file touched outside the output folder, a temporary file
            left, or a use of the network by the process. Readers and commands run in the tool's process, decoders in child processes.

            | input | tried | taken | refused | hangs | faults |
            | --- | --- | --- | --- | --- | --- |

            """);
        foreach (FuzzCount c in counts)
            page.Append(CultureInfo.InvariantCulture, $"| {c.What} | {c.Inputs} | {c.Taken} | {c.Refused} | {c.Hangs} | {c.Faults.Count} |\n");
        page.Append(CultureInfo.InvariantCulture,
            $"| **all** | {counts.Sum(c => c.Inputs)} | {counts.Sum(c => c.Taken)} | {counts.Sum(c => c.Refused)} | {counts.Sum(c => c.Hangs)} | {counts.Sum(c => c.Faults.Count)} |\n");
        foreach (string fault in counts.SelectMany(c => c.Faults.Select(f => $"\n- {c.What}, {f}")))
            page.Append(fault);
        page.Append("""


            Known and not covered: where the pixel format changes within an H.264 stream (4:4:4 to 4:2:0), the embedded decoder gives wrong pictures or
            crashes its process; the ffmpeg reader, taken by default where it is installed, refuses such a clip. `grade` reads each submission in
            a process of its own, and `open` has an uploaded clip decoded in one before its own embedded decoder sees it; `analyze` and `info` with
            `--reader embedded`, or without ffmpeg, decode in their only process, which then ends and leaves no result.

            Files that once led to a fault are kept in `fixtures/hostile`, and the tests take them again.

            ## Faults of the machine

            Brought about around the real command (Linux). No half-written result is ever taken for a whole one: files are written beside their places, flushed
            to the disk and renamed, the record last.

            | fault | outcome | message |
            | --- | --- | --- |

            """);
        foreach (FaultResult f in faults)
        {
            string outcome = f.Problems.Count == 0 ? f.Outcome : $"**{string.Join("; ", f.Problems)}**";
            page.Append(CultureInfo.InvariantCulture, $"| {f.Fault} | {outcome} | {f.Message.ReplaceLineEndings(" ").Replace("|", "\\|", StringComparison.Ordinal)} |\n");
        }

        return page.ToString();
    }
}
