using System.Diagnostics;

namespace StreakTrack.Grading;

/// <summary>The real command, run to its end in a process of its own.</summary>
/// <param name="ExitCode">Its exit code; negative when it was killed.</param>
/// <param name="Output">Standard output.</param>
/// <param name="Error">Standard error.</param>
/// <param name="Seconds">Wall time, in s.</param>
internal sealed record CliRun(int ExitCode, string Output, string Error, double Seconds)
{
    private const int Killed = -9;

    /// <summary>The program, as it stands beside this one.</summary>
    public static string Program { get; } = Path.Combine(AppContext.BaseDirectory, "streaktrack.dll");

    /// <summary>Runs it.</summary>
    public static Task<CliRun> OfAsync(params string[] arguments) => OfAsync((TimeSpan?)null, arguments);

    /// <summary>Runs it, and kills it alone, as <c>kill -9</c> does, when it still runs after a time.</summary>
    public static async Task<CliRun> OfAsync(TimeSpan? killAfter, params string[] arguments)
    {
        long start = Stopwatch.GetTimestamp();
        using Process process = Process.Start(new ProcessStartInfo("dotnet", [Program, .. arguments]) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        Task<string> output = process.StandardOutput.ReadToEndAsync(), error = process.StandardError.ReadToEndAsync();
        bool killed = false;
        if (killAfter is TimeSpan time && await Task.WhenAny(process.WaitForExitAsync(), Task.Delay(time)) is { } first && !process.HasExited)
        {
            process.Kill(entireProcessTree: false);
            killed = true;
        }

        await process.WaitForExitAsync();
        return new CliRun(killed ? Killed : process.ExitCode, await output, await error, Stopwatch.GetElapsedTime(start).TotalSeconds);
    }
}
