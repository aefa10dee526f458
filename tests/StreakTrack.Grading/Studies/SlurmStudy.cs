using System.Diagnostics;
using System.Globalization;

namespace StreakTrack.Grading.Studies;

/// <summary>The class graded as an array job of a real Slurm.</summary>
/// <param name="Version">What <c>sbatch</c> calls itself.</param>
/// <param name="Tasks">Tasks of the array.</param>
/// <param name="Seconds">From handing it in to the table, in s.</param>
/// <param name="Table">The table.</param>
internal sealed record SlurmStudy(string Version, int Tasks, double Seconds, GradedClass Table)
{
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(30);

    /// <summary>Hands the class in with the script that <c>grade --plan</c> writes; null where no node of a Slurm takes work.</summary>
    public static async Task<SlurmStudy?> OfAsync(string folder, string graded)
    {
        if (!File.Exists("/usr/bin/sinfo") || !Run("sinfo", "-h", "-t", "idle", "-o", "%n").Lines.Any(l => l.Length > 0))
            return null;
        if (Directory.Exists(graded))
            Directory.Delete(graded, recursive: true);
        long start = Stopwatch.GetTimestamp();
        CliRun plan = await CliRun.OfAsync("grade", folder, "--out", graded, "--plan");
        if (plan.ExitCode != 0)
            throw new InvalidOperationException($"grade --plan ended with {plan.ExitCode}: {plan.Error}");
        string last = Required("sh", Path.Combine(graded, "slurm.sh"))[^1];
        while (Required("squeue", "-h", "-j", last, "-o", "%i").Any(l => l.Length > 0))
        {
            if (Stopwatch.GetElapsedTime(start) > Longest)
                throw new TimeoutException("The array job did not end: " + string.Join("; ", Required("squeue")));
            await Task.Delay(1000);
        }

        return new SlurmStudy(Required("sbatch", "--version")[0], int.Parse(plan.Output, CultureInfo.InvariantCulture), Stopwatch.GetElapsedTime(start).TotalSeconds, GradedClass.Read(graded, 0));
    }

    private static string[] Required(string program, params string[] arguments)
    {
        (int code, string[] lines) = Run(program, arguments);
        return code == 0 ? lines : throw new InvalidOperationException($"{program} {string.Join(' ', arguments)} ended with {code}.");
    }

    private static (int ExitCode, string[] Lines) Run(string program, params string[] arguments)
    {
        using Process process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true })!;
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return (process.ExitCode, output.TrimEnd('\n').Split('\n'));
    }
}
