using System.Diagnostics;

namespace StreakTrack.Grading;

/// <summary>The real command, run to its end in a process of its own.</summary>
/// <param name="ExitCode">Its exit code; <see cref="Killed"/> when it was killed.</param>
/// <param name="Output">Standard output.</param>
/// <param name="Error">Standard error.</param>
/// <param name="Seconds">Wall time, in s.</param>
internal sealed record CliRun(int ExitCode, string Output, string Error, double Seconds)
{
    /// <summary>What a process that was killed is said to have ended with (128 + SIGKILL).</summary>
    public const int Killed = 137;

    /// <summary>The program, as it stands beside this one.</summary>
    public static string Program { get; } = Path.Combine(AppContext.BaseDirectory, "streaktrack.dll");

    /// <summary>Runs it.</summary>
    public static Task<CliRun> OfAsync(params string[] arguments) => OfAsync(null, arguments);

    /// <summary>Runs it, and kills it alone, as <c>kill -9</c> does, when it still runs at a moment.</summary>
    /// <param name="killWhen">Ends when that moment has come; told when the command ended before. Null to let the command end.</param>
    /// <param name="arguments">The command line.</param>
    public static async Task<CliRun> OfAsync(Func<CancellationToken, Task>? killWhen, params string[] arguments)
    {
        long start = Stopwatch.GetTimestamp();
        using Process process = Process.Start(new ProcessStartInfo("dotnet", [Program, .. arguments]) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        Task<string> output = process.StandardOutput.ReadToEndAsync(), error = process.StandardError.ReadToEndAsync();
        Task exited = process.WaitForExitAsync();
        if (killWhen is not null)
        {
            using var ended = new CancellationTokenSource();
            Task due = killWhen(ended.Token);
            if (await Task.WhenAny(exited, due) == due)
            {
                process.Kill(entireProcessTree: false);
                // A condition that failed is no moment to kill at.
                await due;
            }
            else
            {
                await ended.CancelAsync();
            }
        }

        await exited;
        return new CliRun(process.ExitCode, await output, await error, Stopwatch.GetElapsedTime(start).TotalSeconds);
    }
}
