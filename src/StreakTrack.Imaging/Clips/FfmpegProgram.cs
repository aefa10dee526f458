using System.Diagnostics;
using System.Globalization;
using System.IO.Pipes;
using System.Runtime.InteropServices;
using System.Text.RegularExpressions;

namespace StreakTrack.Imaging.Clips;

/// <summary>The installed ffmpeg program, looked for once.</summary>
internal static partial class FfmpegProgram
{
    /// <summary>The first version with <c>-fps_mode</c>.</summary>
    private static readonly Version OldestUsable = new(5, 1);

    // A program that does not even tell its version within this time is not waited for.
    private const int AnswerMilliseconds = 10_000;

    private static readonly Lazy<string?> LazyPath = new(FindPath);
    private static readonly Lazy<string?> LazyVersion = new(FindVersion);

    /// <summary>The version found, or null when there is no usable program.</summary>
    public static string? Version => LazyVersion.Value;

    /// <summary>Options before <c>-i</c> that keep a file from reaching other files or the network.</summary>
    public static IReadOnlyList<string> InputGuards { get; } =
        ["-format_whitelist", "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi", "-protocol_whitelist", "file,pipe"];

    /// <summary>Options before <c>-i</c> that begin at the key frame at or before a time of the container.</summary>
    /// <param name="seconds">The time, in s, as <see cref="Instant"/> writes it.</param>
    public static IReadOnlyList<string> SeekTo(double seconds) => ["-seek_timestamp", "1", "-noaccurate_seek", "-ss", Instant(seconds)];

    /// <summary>A time as the program reads it, in s to a microsecond.</summary>
    public static string Instant(double seconds) => seconds.ToString("F6", CultureInfo.InvariantCulture);

    /// <summary>How a child process is started: arguments as a list, no shell, output streams redirected.</summary>
    /// <exception cref="MissingComponentException">There is no such program.</exception>
    public static ProcessStartInfo StartInfo(IEnumerable<string> arguments)
    {
        var info = new ProcessStartInfo(LazyPath.Value ?? throw Missing(), arguments)
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
            CreateNoWindow = true,
        };

        // Its log is read by machine, so no colours; and it writes no report file, whatever the user's settings.
        info.Environment.Remove("AV_LOG_FORCE_COLOR");
        info.Environment["AV_LOG_FORCE_NOCOLOR"] = "1";
        info.Environment.Remove("FFREPORT");
        return info;
    }

    /// <summary>Ends a process that may already have ended.</summary>
    public static void Kill(Process process)
    {
        try
        {
            process.Kill();
        }
        catch (Exception e) when (e is InvalidOperationException or System.ComponentModel.Win32Exception)
        {
            // It ended by itself in the meantime.
        }
    }

    /// <summary>What to tell when the program is needed and not there.</summary>
    public static MissingComponentException Missing() => new(
        $"there is no usable ffmpeg program (version {OldestUsable} or newer)",
        "Install it (on Debian and Ubuntu: sudo apt-get install ffmpeg), or choose the embedded decoder with --reader embedded.");

    /// <summary>Lets a pipe hold more, so that writer and reader take fewer turns for a frame. Only a matter of speed: where it cannot be
    /// done, nothing happens.</summary>
    public static void WidenPipe(Stream stream)
    {
        const int setPipeSize = 1031, bytes = 1 << 20;   // F_SETPIPE_SZ; the largest that Linux grants everybody
        SafeHandle? handle = stream switch
        {
            PipeStream pipe => pipe.SafePipeHandle,
            FileStream file => file.SafeFileHandle,
            _ => null,
        };
        if (handle is not null && OperatingSystem.IsLinux())
            _ = FileControl(handle, setPipeSize, bytes);
    }

    [LibraryImport("libc", EntryPoint = "fcntl")]
    private static partial int FileControl(SafeHandle descriptor, int command, nint argument);

    // Process.Start would look into the current folder first, where a stranger's file of that name may lie.
    private static string? FindPath()
    {
        string name = OperatingSystem.IsWindows() ? "ffmpeg.exe" : "ffmpeg";
        return (Environment.GetEnvironmentVariable("PATH") ?? "")
            .Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries)
            .Where(Path.IsPathFullyQualified)
            .Select(folder => Path.Combine(folder, name))
            .FirstOrDefault(File.Exists);
    }

    private static string? FindVersion()
    {
        if (LazyPath.Value is null)
            return null;
        try
        {
            using Process? process = Process.Start(StartInfo(["-nostdin", "-version"]));
            if (process is null)
                return null;
            using var limit = new Timer(_ => Kill(process), null, AnswerMilliseconds, Timeout.Infinite);
            process.ErrorDataReceived += (_, _) => { };
            process.BeginErrorReadLine();
            string text = process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            Match match = VersionPattern().Match(text);
            if (process.ExitCode != 0 || !match.Success)
                return null;
            var number = new Version(
                int.Parse(match.Groups[1].ValueSpan, CultureInfo.InvariantCulture), int.Parse(match.Groups[2].ValueSpan, CultureInfo.InvariantCulture));
            return number >= OldestUsable ? match.Groups[0].Value["ffmpeg version ".Length..] : null;
        }
        catch (System.ComponentModel.Win32Exception)
        {
            return null;   // there, but not to be run
        }
    }

    [GeneratedRegex(@"ffmpeg version n?(\d+)\.(\d+)(\.\d+)?")]
    private static partial Regex VersionPattern();
}
