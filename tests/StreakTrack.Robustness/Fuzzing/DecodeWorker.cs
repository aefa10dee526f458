using System.Diagnostics;
using System.Globalization;
using StreakTrack.Core;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Robustness.Fuzzing;

/// <summary>Decodes mutants of clips in child processes, because a crash of native code takes its process with it.</summary>
internal static class DecodeWorker
{
    /// <summary>The word by which the program knows that it is the child.</summary>
    public const string Word = "decode";

    private const int MostFrames = 2000;
    private const long MaxResidentBytes = 1L << 30;
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(30);

    /// <summary>The child: decodes the mutants of a range of seeds and says before each which it is.</summary>
    public static void Run(string[] arguments)
    {
        (string original, string mutant) = (arguments[0], arguments[1]);
        ReaderChoice choice = Enum.Parse<ReaderChoice>(arguments[2]);
        int first = int.Parse(arguments[3], CultureInfo.InvariantCulture), end = int.Parse(arguments[4], CultureInfo.InvariantCulture);
        byte[] sound = File.ReadAllBytes(original);
        var frame = new RawFrame();
        for (int seed = first; seed < end; seed++)
        {
            Console.WriteLine($"begin {seed}");
            File.WriteAllBytes(mutant, seed < 0 ? sound : Mutator.OfBinary(sound, seed));
            try
            {
                ClipFacts facts = ClipFile.Inspect(mutant);
                using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = choice });
                int frames = 0;
                while (frames < MostFrames && reader.TryRead(frame))
                    frames++;
                Console.WriteLine(frames < MostFrames ? "taken" : "endless");
            }
            catch (UnusableInputException)
            {
                Console.WriteLine("refused");
            }
            catch (Exception e)
            {
                Console.WriteLine("fault " + e.GetType().Name + ": " + e.Message.ReplaceLineEndings(" "));
            }
        }
    }

    /// <summary>The parent: counts what became of the mutants.</summary>
    /// <param name="original">A sound clip; the seeds below 0 try it as it is.</param>
    /// <param name="choice">The reader.</param>
    /// <param name="firstSeed">The first seed.</param>
    /// <param name="count">Number of mutants.</param>
    public static FuzzCount Count(string original, ReaderChoice choice, int firstSeed, int count)
    {
        int taken = 0, refused = 0, hangs = 0, tried = 0, seed = firstSeed;
        var faults = new List<string>();
        string mutant = Path.GetTempFileName();
        while (seed < firstSeed + count)
        {
            var info = new ProcessStartInfo("dotnet",
            [
                Path.Combine(AppContext.BaseDirectory, "StreakTrack.Robustness.dll"), Word, original, mutant, choice.ToString(),
                seed.ToString(CultureInfo.InvariantCulture), (firstSeed + count).ToString(CultureInfo.InvariantCulture),
            ])
            { RedirectStandardOutput = true, RedirectStandardError = true };
            info.Environment["DOTNET_DbgEnableMiniDump"] = "0";
            using Process child = Process.Start(info)!;
            child.ErrorDataReceived += (_, _) => { };
            child.BeginErrorReadLine();
            bool overdue = false;
            long most = 0;
            using var watch = new Timer(_ =>
            {
                overdue = true;
                child.Kill(entireProcessTree: true);
            }, null, Limit, Timeout.InfiniteTimeSpan);
            bool open = false;
            while (child.StandardOutput.ReadLine() is string line)
            {
                watch.Change(Limit, Timeout.InfiniteTimeSpan);
                if (line.StartsWith("begin ", StringComparison.Ordinal))
                {
                    seed = int.Parse(line.AsSpan(6), CultureInfo.InvariantCulture);
                    open = true;
                    tried++;
                    continue;
                }

                open = false;
                if (line == "taken")
                    taken++;
                else if (line == "refused")
                    refused++;
                else
                    faults.Add($"seed {seed}: {line}");
                if (tried % 50 == 0 && !child.HasExited)
                {
                    child.Refresh();
                    most = Math.Max(most, child.PeakWorkingSet64);
                }
            }

            child.WaitForExit();
            if (most > MaxResidentBytes)
                faults.Add($"up to seed {seed}: {most >> 20} MiB resident");
            if (overdue)
                hangs++;
            if (overdue || open)
                faults.Add($"seed {seed}: " + (overdue ? "no end" : $"the process crashed (exit code {child.ExitCode})"));
            seed++;
        }

        File.Delete(mutant);
        return new FuzzCount($"{Path.GetFileName(original)}, {choice.ToString().ToLowerInvariant()} reader", tried, taken, refused, hangs, faults);
    }
}
