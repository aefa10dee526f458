namespace StreakTrack.Grading.Studies;

/// <summary>What came of a run that was killed over and over.</summary>
/// <param name="DoneBefore">For every kill, the submissions that the run continued after it found done.</param>
/// <param name="Table">The table in the end.</param>
/// <param name="LeftOver">Files that only an unfinished run has and that are there in the end.</param>
internal sealed record KillStudy(IReadOnlyList<int> DoneBefore, GradedClass Table, IReadOnlyList<string> LeftOver)
{
    private const int AtOnce = 2;

    /// <summary>How often the results are counted.</summary>
    private static readonly TimeSpan LookInterval = TimeSpan.FromMilliseconds(20);

    /// <summary>Kills the run at random moments spread over it, each time continues it, and lets the last one end.</summary>
    public static async Task<KillStudy> OfAsync(string folder, string graded, int kills, double undisturbedSeconds, int seed)
    {
        if (Directory.Exists(graded))
            Directory.Delete(graded, recursive: true);
        string results = Path.Combine(graded, "results");
        int Done() => Directory.Exists(results) ? Directory.GetFiles(results, "*.json").Length : 0;
        string[] line = ["grade", folder, "--out", graded, "--jobs", $"{AtOnce}"];
        int total = Directory.GetFileSystemEntries(folder).Length;
        double eachSeconds = undisturbedSeconds / total, seconds = 0;
        var random = new Random(seed);
        var done = new List<int>();
        while (done.Count < kills)
        {
            // Results must have come since the kill before, and more submissions than are at hand be left, or there is nothing to continue or to kill.
            int due = 1 + (done.Count * (total - AtOnce - 1) / kills);
            var wait = TimeSpan.FromSeconds(random.NextDouble() * eachSeconds);
            CliRun run = await CliRun.OfAsync(async ended =>
            {
                while (Done() < due)
                    await Task.Delay(LookInterval, ended);
                await Task.Delay(wait, ended);
            }, line);
            if (run.ExitCode != CliRun.Killed)
                throw new InvalidOperationException($"The run ended with {run.ExitCode} before it was to be killed, {Done()} of {total} submissions done: {run.Error}");
            seconds += run.Seconds;
            done.Add(Done());
        }

        CliRun last = await CliRun.OfAsync(line);
        GradedClass.Require(last);
        return new KillStudy(done, GradedClass.Read(graded, seconds + last.Seconds),
            [.. Directory.EnumerateFiles(graded, "*", SearchOption.AllDirectories).Where(f => f.EndsWith(".partial", StringComparison.Ordinal) || f.EndsWith(".unfinished", StringComparison.Ordinal))
                .Concat(Directory.Exists(Path.Combine(graded, "work")) ? [Path.Combine(graded, "work")] : []).Select(f => Path.GetRelativePath(graded, f))]);
    }
}
