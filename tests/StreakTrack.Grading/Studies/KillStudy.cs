using System.Globalization;

namespace StreakTrack.Grading.Studies;

/// <summary>What came of a run that was killed over and over.</summary>
/// <param name="Kills">How often it was killed.</param>
/// <param name="DoneBefore">Submissions that each continued run, the last one included, found done.</param>
/// <param name="Table">The table in the end.</param>
/// <param name="LeftOver">Files that only an unfinished run has and that are there in the end.</param>
internal sealed record KillStudy(int Kills, IReadOnlyList<int> DoneBefore, GradedClass Table, IReadOnlyList<string> LeftOver)
{
    /// <summary>Kills the run at random moments, each time continues it, and lets the last one end.</summary>
    public static async Task<KillStudy> OfAsync(string folder, string graded, int kills, double undisturbedSeconds, int seed, Action<string> progress)
    {
        if (Directory.Exists(graded))
            Directory.Delete(graded, recursive: true);
        var random = new Random(seed);
        var done = new List<int>();
        int killed = 0;
        double seconds = 0;
        // Short enough for all kills to meet one and the same run: each costs the submissions at hand, so that little is done between two of them.
        double longest = undisturbedSeconds / kills;
        while (killed < kills)
        {
            CliRun run = await CliRun.OfAsync(TimeSpan.FromSeconds(0.05 + (random.NextDouble() * longest)), "grade", folder, "--out", graded, "--jobs", "2");
            seconds += run.Seconds;
            if (run.ExitCode >= 0)
            {
                // It was done before its time; the kills that are left meet a run that starts anew.
                GradedClass.Require(run);
                progress("done after " + killed.ToString(CultureInfo.InvariantCulture) + " kills; from the start again");
                Directory.Delete(graded, recursive: true);
                continue;
            }

            killed++;
            done.Add(Directory.Exists(Path.Combine(graded, "results")) ? Directory.GetFiles(Path.Combine(graded, "results"), "*.json").Length : 0);
        }

        CliRun last = await CliRun.OfAsync("grade", folder, "--out", graded, "--jobs", "2");
        GradedClass.Require(last);
        return new KillStudy(killed, done, GradedClass.Read(graded, seconds + last.Seconds),
            [.. Directory.EnumerateFiles(graded, "*", SearchOption.AllDirectories).Where(f => f.EndsWith(".partial", StringComparison.Ordinal) || f.EndsWith(".unfinished", StringComparison.Ordinal))
                .Concat(Directory.Exists(Path.Combine(graded, "work")) ? [Path.Combine(graded, "work")] : []).Select(f => Path.GetRelativePath(graded, f))]);
    }
}
