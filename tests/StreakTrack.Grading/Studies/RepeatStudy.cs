namespace StreakTrack.Grading.Studies;

/// <summary>The same clip with the same record, analysed twice.</summary>
/// <param name="Clip">The clip.</param>
/// <param name="IdenticalFiles">Files of the results that have identical bytes.</param>
/// <param name="DifferentFiles">Files that do not.</param>
internal sealed record RepeatStudy(string Clip, IReadOnlyList<string> IdenticalFiles, IReadOnlyList<string> DifferentFiles)
{
    /// <summary>Analyses twice, each time in a process of its own.</summary>
    public static async Task<RepeatStudy> OfAsync(string submission, string work)
    {
        string clip = Directory.GetFiles(submission, "clip.*").Single(), record = Path.Combine(submission, "record.json");
        string[] places = [Path.Combine(work, "first"), Path.Combine(work, "second")];
        foreach (string place in places)
        {
            CliRun run = await CliRun.OfAsync("analyze", clip, "--record", record, "--out", place);
            if (run.ExitCode != 0)
                throw new InvalidOperationException(run.Error);
        }

        string[] files = [.. places.SelectMany(p => Directory.GetFiles(p, "*", SearchOption.AllDirectories).Select(f => Path.GetRelativePath(p, f))).Distinct().Order(StringComparer.Ordinal)];
        bool Same(string file) => File.ReadAllBytes(Path.Combine(places[0], file)).AsSpan().SequenceEqual(File.ReadAllBytes(Path.Combine(places[1], file)));
        return new RepeatStudy(Path.GetFileName(submission), [.. files.Where(Same)], [.. files.Where(f => !Same(f))]);
    }
}
