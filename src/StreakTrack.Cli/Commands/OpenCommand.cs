using System.CommandLine;
using System.ComponentModel;
using System.Diagnostics;
using System.Globalization;
using StreakTrack.Cli.Grading;
using StreakTrack.Worksheet;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack open</c>: the whole job on a local web page.</summary>
internal static class OpenCommand
{
    private const string DefaultFolder = "streaktrack-work";

    // Far more than ten minutes of a phone's 4K take.
    private static readonly ProcessLimits TrialLimits = new(TimeSpan.FromHours(2), 2L << 30);

    /// <summary>The command.</summary>
    public static Command Create(CommandStreams streams)
    {
        var clip = new Argument<FileInfo?>("CLIP")
        {
            Description = "The clip to begin with; without one it is chosen on the page.",
            Arity = ArgumentArity.ZeroOrOne,
        };
        var folder = new Option<DirectoryInfo>("--out")
        {
            Description = "Folder for the work: inside, one folder for each clip with its record and results. Continued where it was left.",
            HelpName = "DIR",
            DefaultValueFactory = _ => new DirectoryInfo(DefaultFolder),
        };
        Option<string> reader = ReaderOption.CreateWithDefault();
        var noBrowser = new Option<bool>("--no-browser") { Description = "Open no browser; only print the address." };

        var command = new Command("open", "Do the whole job on a page in the browser: marks, streak, fit, results.") { clip, folder, reader, noBrowser };
        command.SetAction(async (parsed, cancellationToken) =>
        {
            var options = new WorksheetOptions
            {
                WorkFolder = parsed.GetValue(folder)!.FullName,
                ClipPath = parsed.GetValue(clip)?.FullName,
                Reader = parsed.GetValue(reader)!,
                Trial = TryAsync,
            };
            await using WorksheetServer server = await WorksheetServer.StartAsync(options, streams.Error, cancellationToken);
            await streams.Output.WriteLineAsync(server.Address);
            await streams.Output.FlushAsync(CancellationToken.None);
            bool opened = !parsed.GetValue(noBrowser) && TryOpenBrowser(server.Address);
            await streams.Error.WriteLineAsync(opened
                ? "streaktrack: the worksheet is open in your browser. Ctrl-C here ends it; the work is saved as it is done."
                : "streaktrack: open this address in a browser on this machine; it works once. Ctrl-C here ends it; the work is saved as it is done.");
            try
            {
                await Task.Delay(Timeout.Infinite, cancellationToken);
            }
            catch (OperationCanceledException)
            {
                // Ctrl-C is how a worksheet ends.
            }

            await streams.Error.WriteLineAsync($"streaktrack: the worksheet is closed. The work is in {options.WorkFolder}");
            return ExitCode.Done;
        });
        ExampleHelp.AddTo(command,
            "streaktrack open clip.mp4",
            "streaktrack open",
            "streaktrack open clip.mp4 --out work --no-browser");
        return command;
    }

    // An uploaded clip may come from a stranger, and nothing catches a crash of the decoder inside a process.
    private static async Task<string?> TryAsync(string path, CancellationToken cancellationToken)
    {
        (ProcessEnd end, int code, _) = await IsolatedProcess.RunAsync(["info", path, "--reader", "embedded"], TrialLimits, cancellationToken);
        return end switch
        {
            ProcessEnd.TimeLimit => $"decoding it took longer than {TrialLimits.Time.TotalHours:0} hours",
            ProcessEnd.MemoryLimit => $"decoding it took more than {TrialLimits.MemoryBytes >> 20} MiB of memory",
            _ when code != ExitCode.Done => string.Create(
                CultureInfo.InvariantCulture, $"the embedded decoder cannot decode it, or crashed on it (exit code {code})"),
            _ => null,
        };
    }

    private static bool TryOpenBrowser(string address)
    {
        try
        {
            if (OperatingSystem.IsWindows())
                return Process.Start(new ProcessStartInfo(address) { UseShellExecute = true }) is not null;
            bool hasDesktop = OperatingSystem.IsMacOS() || Environment.GetEnvironmentVariable("DISPLAY") is { Length: > 0 }
                || Environment.GetEnvironmentVariable("WAYLAND_DISPLAY") is { Length: > 0 };
            return hasDesktop && Process.Start(new ProcessStartInfo(OperatingSystem.IsMacOS() ? "open" : "xdg-open", [address])
            {
                RedirectStandardOutput = true,
                RedirectStandardError = true,
            }) is not null;
        }
        catch (Exception e) when (e is Win32Exception or InvalidOperationException)
        {
            // No browser, or no program that opens one: the address was printed.
            return false;
        }
    }
}
