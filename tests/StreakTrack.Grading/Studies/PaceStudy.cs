using System.Globalization;

namespace StreakTrack.Grading.Studies;

/// <summary>How long some submissions take, one and two at once.</summary>
/// <param name="Submissions">Number of submissions.</param>
/// <param name="OneAtATimeSeconds">Shortest wall time with one at a time, in s.</param>
/// <param name="TwoAtOnceSeconds">Shortest wall time with two at once, in s.</param>
/// <param name="Identical">Whether all tables are identical.</param>
/// <param name="LoadBefore">Processes that wanted to run, on the average of the minute before; null where the machine does not say.</param>
internal sealed record PaceStudy(int Submissions, double OneAtATimeSeconds, double TwoAtOnceSeconds, bool Identical, double? LoadBefore)
{
    /// <summary>The shortest of several runs counts: what else the machine does can only make a run longer.</summary>
    private const int Repeats = 2;

    private const string LoadFile = "/proc/loadavg";

    /// <summary>Grades the honest submissions of the class and the edited ones in turns, one and two at once.</summary>
    public static async Task<PaceStudy> OfAsync(string folder, string work)
    {
        string some = Path.Combine(work, "pace");
        if (Directory.Exists(some))
            Directory.Delete(some, recursive: true);
        string[] submissions = [.. Directory.GetDirectories(folder, "honest-*").Concat(Directory.GetDirectories(folder, "edited-*"))];
        foreach (string submission in submissions)
        {
            string copy = Directory.CreateDirectory(Path.Combine(some, Path.GetFileName(submission))).FullName;
            foreach (string file in Directory.GetFiles(submission))
                File.Copy(file, Path.Combine(copy, Path.GetFileName(file)));
        }

        double? load = File.Exists(LoadFile) ? double.Parse(File.ReadAllText(LoadFile).Split(' ')[0], CultureInfo.InvariantCulture) : null;
        var runs = new List<(int Jobs, GradedClass Graded)>();
        for (int i = 0; i < Repeats; i++)
        {
            foreach (int jobs in new[] { 1, 2 })
                runs.Add((jobs, await GradedClass.OfAsync(some, Path.Combine(work, "paced"), jobs)));
        }

        return new PaceStudy(submissions.Length, runs.Where(r => r.Jobs == 1).Min(r => r.Graded.Seconds), runs.Where(r => r.Jobs == 2).Min(r => r.Graded.Seconds),
            runs.Select(r => r.Graded.TableSha256).Distinct().Count() == 1, load);
    }
}
