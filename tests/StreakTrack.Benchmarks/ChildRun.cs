using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;

namespace StreakTrack.Benchmarks;

/// <summary>What one run of a program took.</summary>
/// <param name="Seconds">Wall time, in s.</param>
/// <param name="ProcessorSeconds">Time of all processors, in the program and its children, in s; 0 where the system does not tell.</param>
/// <param name="PeakMegabytes">Largest resident memory of the program and its children together, in MB; 0 where the system does not tell.</param>
/// <param name="Output">Its standard output.</param>
internal sealed partial record ChildRun(double Seconds, double ProcessorSeconds, double PeakMegabytes, string Output)
{
    /// <summary>Runs a program to its end.</summary>
    /// <exception cref="InvalidOperationException">The program failed.</exception>
    public static ChildRun Of(string program, params string[] arguments)
    {
        double processor = OfChildren();
        var watch = Stopwatch.StartNew();
        using Process process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true })
            ?? throw new InvalidOperationException($"{program} did not start.");
        Task<string> output = process.StandardOutput.ReadToEndAsync(), talk = process.StandardError.ReadToEndAsync();
        double peak = 0;
        while (!process.WaitForExit(20))
            peak = Math.Max(peak, Resident(process.Id));
        double seconds = watch.Elapsed.TotalSeconds;
        if (process.ExitCode != 0)
            throw new InvalidOperationException($"{program} ended with {process.ExitCode}: {talk.Result}");
        return new ChildRun(seconds, OfChildren() - processor, peak, output.Result);
    }

    // Processor time of all children that have ended, and of theirs.
    private static double OfChildren()
    {
        const int children = -1;
        if (!OperatingSystem.IsLinux())
            return 0;
        long[] usage = new long[32];
        return GetResourceUsage(children, usage) == 0 ? usage[0] + usage[2] + (1e-6 * (usage[1] + usage[3])) : 0;
    }

    // User and system time, each as seconds and microseconds, stand first in what it fills in.
    [LibraryImport("libc", EntryPoint = "getrusage")]
    private static partial int GetResourceUsage(int who, [Out] long[] usage);

    // A process and its children, from the tables of Linux.
    private static double Resident(int id)
    {
        try
        {
            string line = File.ReadLines($"/proc/{id}/status").FirstOrDefault(l => l.StartsWith("VmRSS:", StringComparison.Ordinal)) ?? "";
            string[] words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
            double own = words.Length > 1 ? double.Parse(words[1], CultureInfo.InvariantCulture) / 1000 : 0;
            return own + Directory.EnumerateDirectories($"/proc/{id}/task")
                .SelectMany(task => File.ReadAllText(Path.Combine(task, "children")).Split(' ', StringSplitOptions.RemoveEmptyEntries))
                .Sum(child => Resident(int.Parse(child, CultureInfo.InvariantCulture)));
        }
        catch (IOException)
        {
            return 0;   // it ended meanwhile, or this is not Linux
        }
    }
}
