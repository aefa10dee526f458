using System.Diagnostics;
using StreakTrack.Core;

namespace StreakTrack.Robustness.Fuzzing;

/// <summary>Tries mutants at one door.</summary>
internal static class Fuzzer
{
    /// <summary>Not a measurement of time: a limit that only a hang, or work that grows out of proportion, can reach.</summary>
    private static readonly TimeSpan Limit = TimeSpan.FromSeconds(30);

    /// <summary>More than any sound input of this size needs, in bytes allocated while one input is taken; inputs above 1 MB may take more.</summary>
    private const long MaxAllocatedBytes = 2L << 30;

    /// <summary>Tries the seeds from <paramref name="firstSeed"/> on.</summary>
    /// <param name="target">The door.</param>
    /// <param name="sandbox">Where files may be written.</param>
    /// <param name="firstSeed">The first seed.</param>
    /// <param name="count">Number of mutants.</param>
    public static async Task<FuzzCount> RunAsync(FuzzTarget target, Sandbox sandbox, int firstSeed, int count)
    {
        int taken = 0, refused = 0, hangs = 0, tried = 0;
        var faults = new List<string>();
        using var network = new NetworkWatch();
        for (int seed = firstSeed; seed < firstSeed + count && hangs < 3; seed++)
        {
            byte[] mutant = target.Mutate(target.Original, seed);
            string path = sandbox.Write("mutant", mutant);
            long before = GC.GetTotalAllocatedBytes();
            tried++;
            using var cancellation = new CancellationTokenSource();
            var time = Stopwatch.StartNew();
            Task<bool> work = Task.Run(() => target.Take(path, cancellation.Token), CancellationToken.None);
            if (await Task.WhenAny(work, Task.Delay(Limit, CancellationToken.None)) != work)
            {
                hangs++;
                faults.Add($"seed {seed}: no end within {Limit.TotalSeconds:0} s");
                await cancellation.CancelAsync();
                continue;
            }

            try
            {
                if (await work)
                    taken++;
                else
                    refused++;
            }
            catch (UnusableInputException)
            {
                refused++;
            }
            catch (Exception e)
            {
                faults.Add($"seed {seed}: {e.GetType().Name}: {e.Message}");
            }

            long allocated = GC.GetTotalAllocatedBytes() - before;
            if (mutant.Length < 1 << 20 && allocated > MaxAllocatedBytes)
                faults.Add($"seed {seed}: allocated {allocated >> 20} MiB in {time.Elapsed.TotalSeconds:0.0} s");
        }

        faults.AddRange(sandbox.Strays().Select(path => $"touched {path}"));
        if (network.Events > 0)
            faults.Add($"{network.Events} network events");
        return new FuzzCount(target.What, tried, taken, refused, hangs, faults);
    }
}
