using System.Globalization;

namespace StreakTrack.Cli.Grading;

/// <summary>The script that hands a planned class in to Slurm: an array job with one task a submission, and a job that makes the table when all of
/// them have ended, however they ended.</summary>
internal static class SlurmScript
{
    /// <summary>Name of the script in the output folder.</summary>
    public const string FileName = "slurm.sh";

    /// <summary>Memory of the task beside that of the submission it judges, in MB.</summary>
    private const int OwnMegabytes = 500;

    /// <summary>Minutes for starting and writing beside the time of the submission.</summary>
    private const int OwnMinutes = 2;

    /// <summary>Writes the script.</summary>
    /// <param name="program">The command that starts this program.</param>
    /// <param name="folder">Folder with the submissions.</param>
    /// <param name="outFolder">Output folder.</param>
    /// <param name="tasks">Number of tasks.</param>
    /// <param name="limits">What one submission may use.</param>
    public static void Write(IReadOnlyList<string> program, string folder, string outFolder, int tasks, ProcessLimits limits)
    {
        string grade = string.Join(' ', program.Concat(["grade", folder, "--out", outFolder]).Select(Quoted));
        string limit = string.Create(CultureInfo.InvariantCulture, $"--time-limit {limits.Time.TotalSeconds:0.###} --memory-limit {limits.MemoryBytes / 1e6:0.###}");
        string logs = Path.Combine(outFolder, "slurm");
        SafeFile.Write(Path.Combine(outFolder, FileName), string.Create(CultureInfo.InvariantCulture, $"""
            #!/bin/sh
            # Hands the class in to Slurm and prints the number of the job that makes the table. Arguments go to sbatch: sh {FileName} --partition=NAME
            set -eu
            mkdir -p {Quoted(logs)}
            job=$(sbatch --parsable --job-name=grade --array=1-{tasks} --cpus-per-task=1 --mem={Math.Ceiling(limits.MemoryBytes / 1e6) + OwnMegabytes:0}M --time={Math.Ceiling(limits.Time.TotalMinutes) + OwnMinutes:0} \
                --output={Quoted(Path.Combine(logs, "%a.log"))} "$@" --wrap={Quoted($"{grade} --task $SLURM_ARRAY_TASK_ID {limit}")})
            sbatch --parsable --job-name=grade-table --dependency=afterany:"$job" --time=10 --output={Quoted(Path.Combine(logs, "table.log"))} "$@" --wrap={Quoted($"{grade} --collect")}

            """));
    }

    private static string Quoted(string text) => "'" + text.Replace("'", "'\\''", StringComparison.Ordinal) + "'";
}
