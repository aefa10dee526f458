using System.Diagnostics;

namespace StreakTrack.Robustness.Faults;

/// <summary>The real command in a process of its own.</summary>
internal sealed class CliProcess : IDisposable
{
    /// <summary>Exit code where a file system of its own could not be mounted.</summary>
    public const int NotMounted = 99;

    /// <summary>Exit code where the rights to have one are missing: that of unshare.</summary>
    public const int NotAllowed = 1;

    private readonly Task<string> _output;
    private readonly Task<string> _error;

    private CliProcess(ProcessStartInfo info)
    {
        info.RedirectStandardOutput = true;
        info.RedirectStandardError = true;
        Process = Process.Start(info)!;
        _output = Process.StandardOutput.ReadToEndAsync();
        _error = Process.StandardError.ReadToEndAsync();
    }

    public Process Process { get; }

    private static string Program => Path.Combine(AppContext.BaseDirectory, "streaktrack.dll");

    public static CliProcess Start(params string[] arguments) => new(new ProcessStartInfo("dotnet", [Program, .. arguments]));

    /// <summary>With another folder for temporary files.</summary>
    public static CliProcess StartWithTemporaryFolder(string folder, params string[] arguments)
    {
        var info = new ProcessStartInfo("dotnet", [Program, .. arguments]);
        info.Environment["TMPDIR"] = folder;

        // The runtime's own pipes for debuggers would be made there, too.
        info.Environment["DOTNET_EnableDiagnostics"] = "0";
        return new CliProcess(info);
    }

    /// <summary>No file may grow beyond a size: the nearest to a full disk that needs no rights.</summary>
    public static CliProcess StartWithFileLimit(int kibibytes, params string[] arguments)
    {
        var info = new ProcessStartInfo("bash",
            ["-c", $"trap '' XFSZ; ulimit -f {kibibytes}; exec dotnet \"$@\"", "bash", Program, .. arguments]);

        // The runtime would otherwise keep compiled code in a file in memory, which counts.
        info.Environment["DOTNET_EnableWriteXorExecute"] = "0";
        return new CliProcess(info);
    }

    /// <summary>With a file system of its own over the folder, seen by nobody else; needs the rights to mount one.</summary>
    /// <param name="folder">The folder.</param>
    /// <param name="mountOptions">How it is mounted: read-only, or of what size.</param>
    /// <param name="arguments">The command line.</param>
    public static CliProcess StartOnMount(string folder, string mountOptions, params string[] arguments) => new(new ProcessStartInfo("unshare",
        ["-m", "bash", "-c", $"mount -t tmpfs -o {mountOptions} tmpfs '{folder}' || exit {NotMounted}; exec dotnet \"$@\"", "bash", Program, .. arguments]));

    /// <summary>Waits for the end.</summary>
    /// <exception cref="TimeoutException">It does not end within a minute.</exception>
    public async Task<(int Code, string Output, string Error)> EndAsync()
    {
        using var limit = new CancellationTokenSource(TimeSpan.FromMinutes(1));
        try
        {
            await Process.WaitForExitAsync(limit.Token);
        }
        catch (OperationCanceledException e)
        {
            Process.Kill(entireProcessTree: true);
            throw new TimeoutException("The command did not end within a minute.", e);
        }

        return (Process.ExitCode, await _output, await _error);
    }

    /// <summary>Its ffmpeg child, waited for.</summary>
    public async Task<Process> DecoderAsync()
    {
        for (int attempt = 0; attempt < 2000; attempt++)
        {
            if (Process.HasExited)
                throw new InvalidOperationException("The command ended before it decoded: " + await _error);
            foreach (string id in ChildrenOf(Process.Id))
            {
                // Asking for the version is not decoding.
                if (CommandLineOf(id) is { } line && line.Contains("rawvideo", StringComparison.Ordinal) && !line.Contains("-skip_frame", StringComparison.Ordinal))
                    return Process.GetProcessById(int.Parse(id, System.Globalization.CultureInfo.InvariantCulture));
            }

            await Task.Delay(2);
        }

        throw new TimeoutException("The command started no decoder.");
    }

    public void Dispose()
    {
        if (!Process.HasExited)
            Process.Kill(entireProcessTree: true);
        Process.Dispose();
    }

    private static IEnumerable<string> ChildrenOf(int id)
    {
        try
        {
            return [.. Directory.GetDirectories($"/proc/{id}/task").SelectMany(
                task => File.ReadAllText(task + "/children").Split(' ', StringSplitOptions.RemoveEmptyEntries))];
        }
        catch (IOException)
        {
            return [];   // a thread or the process ended while it was looked at
        }
    }

    private static string? CommandLineOf(string id)
    {
        try
        {
            return File.ReadAllText($"/proc/{id}/cmdline");
        }
        catch (IOException)
        {
            return null;
        }
    }
}
