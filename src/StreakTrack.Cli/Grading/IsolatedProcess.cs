using System.Diagnostics;
using System.Globalization;

namespace StreakTrack.Cli.Grading;

/// <summary>Runs this program once more, in a process of its own with limits, for input that may be hostile.</summary>
/// <remarks>
/// Time and memory (of the child and what it starts) are watched and end the whole tree; the managed heap has a hard limit of its own, and where
/// util-linux is installed no core file and no endless file is written. When this process dies, the child sees the end of its standard input and ends
/// too (<see cref="EndWithParent"/>), so that nothing goes on working unseen.
/// </remarks>
internal static class IsolatedProcess
{
    private const string Limiter = "/usr/bin/prlimit";
    private const long LargestFileBytes = 8L << 30;

    /// <summary>Share of the memory limit that the managed heap may take; the rest is for decoders and native buffers.</summary>
    private const double HeapShare = 0.75;

    private static readonly TimeSpan WatchInterval = TimeSpan.FromMilliseconds(100);

    /// <summary>Runs a command line of this program to its end.</summary>
    /// <param name="arguments">The arguments.</param>
    /// <param name="limits">What it may use.</param>
    /// <param name="cancellationToken">Ends the child.</param>
    /// <returns>How it ended, its exit code, and what it wrote to standard error.</returns>
    public static async Task<(ProcessEnd End, int ExitCode, string Error)> RunAsync(
        IReadOnlyList<string> arguments, ProcessLimits limits, CancellationToken cancellationToken)
    {
        using Process process = Process.Start(StartInfo(arguments, limits))!;
        Task<string> error = process.StandardError.ReadToEndAsync(CancellationToken.None);
        Task<string> output = process.StandardOutput.ReadToEndAsync(CancellationToken.None);
        Task exited = process.WaitForExitAsync(CancellationToken.None);
        long start = Stopwatch.GetTimestamp();
        ProcessEnd end = ProcessEnd.Exited;
        while (await Task.WhenAny(exited, Task.Delay(WatchInterval, CancellationToken.None)) != exited)
        {
            if (cancellationToken.IsCancellationRequested)
                Kill(process);
            else if (Stopwatch.GetElapsedTime(start) > limits.Time)
                (end, _) = (ProcessEnd.TimeLimit, Kill(process));
            else if (ResidentBytes(process.Id) > limits.MemoryBytes)
                (end, _) = (ProcessEnd.MemoryLimit, Kill(process));
            else
                continue;
            await exited;
            break;
        }

        cancellationToken.ThrowIfCancellationRequested();
        await output;
        return (end, process.ExitCode, await error);
    }

    /// <summary>In the child: ends this process when the one that started it is gone.</summary>
    public static void EndWithParent()
    {
        var watch = new Thread(() =>
        {
            using Stream input = Console.OpenStandardInput();
            byte[] ignored = new byte[16];
            while (input.Read(ignored) > 0)
            {
            }

            Environment.Exit(ExitCode.Interrupted);
        })
        { IsBackground = true };
        watch.Start();
    }

    /// <summary>The command that starts this program once more.</summary>
    public static IReadOnlyList<string> OwnCommand
    {
        get
        {
            string assembly = typeof(IsolatedProcess).Assembly.Location, self = Environment.ProcessPath!;
            bool runsItself = assembly.Length == 0 || Path.GetFileNameWithoutExtension(self) == Path.GetFileNameWithoutExtension(assembly);
            return runsItself ? [self] : [self, assembly];
        }
    }

    private static ProcessStartInfo StartInfo(IReadOnlyList<string> arguments, ProcessLimits limits)
    {
        List<string> all = [.. OwnCommand, .. arguments];
        if (File.Exists(Limiter))
            all.InsertRange(0, [Limiter, "--core=0", string.Create(CultureInfo.InvariantCulture, $"--fsize={LargestFileBytes}"), "--"]);
        var info = new ProcessStartInfo(all[0], all.Skip(1))
        {
            RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false,
        };
        info.Environment["DOTNET_GCHeapHardLimit"] = ((long)(HeapShare * limits.MemoryBytes)).ToString("X", CultureInfo.InvariantCulture);
        info.Environment["DOTNET_gcServer"] = "0";
        info.Environment["DOTNET_DbgEnableMiniDump"] = "0";
        return info;
    }

    private static bool Kill(Process process)
    {
        try
        {
            process.Kill(entireProcessTree: true);
        }
        catch (Exception e) when (e is InvalidOperationException or System.ComponentModel.Win32Exception or AggregateException)
        {
            // It ended by itself in the meantime.
        }

        return true;
    }

    // Of the process and its children, from /proc; elsewhere only the heap's own limit holds.
    private static long ResidentBytes(int id)
    {
        try
        {
            long pages = long.Parse(File.ReadAllText($"/proc/{id}/statm").Split(' ')[1], CultureInfo.InvariantCulture);
            return (pages * Environment.SystemPageSize) + Directory.GetDirectories($"/proc/{id}/task")
                .SelectMany(t => File.ReadAllText(t + "/children").Split(' ', StringSplitOptions.RemoveEmptyEntries))
                .Sum(child => ResidentBytes(int.Parse(child, CultureInfo.InvariantCulture)));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or FormatException or IndexOutOfRangeException)
        {
            return 0;   // it has just ended, or there is no /proc
        }
    }
}
