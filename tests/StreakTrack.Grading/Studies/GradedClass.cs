using System.Security.Cryptography;
using System.Text;

namespace StreakTrack.Grading.Studies;

/// <summary>One grading of the class and the table that came of it.</summary>
/// <param name="Seconds">Wall time, in s.</param>
/// <param name="TableSha256">SHA-256 of <c>class.csv</c> and <c>class.html</c> together.</param>
/// <param name="ResultsSha256">SHA-256 of all judgements, in the order of their names.</param>
internal sealed record GradedClass(double Seconds, string TableSha256, string ResultsSha256)
{
    /// <summary>Grades the class from nothing.</summary>
    public static async Task<GradedClass> OfAsync(string folder, string graded, int jobs)
    {
        if (Directory.Exists(graded))
            Directory.Delete(graded, recursive: true);
        CliRun run = await CliRun.OfAsync("grade", folder, "--out", graded, "--jobs", $"{jobs}");
        Require(run);
        return Read(graded, run.Seconds);
    }

    /// <summary>Reads what was graded.</summary>
    public static GradedClass Read(string graded, double seconds) => new(seconds,
        HashOf([Path.Combine(graded, "class.csv"), Path.Combine(graded, "class.html")]),
        HashOf(Directory.GetFiles(Path.Combine(graded, "results"), "*.json").Order(StringComparer.Ordinal)));

    /// <summary>The class has faults, so the command must end with 1.</summary>
    public static void Require(CliRun run)
    {
        if (run.ExitCode != 1)
            throw new InvalidOperationException($"grade ended with {run.ExitCode}: {run.Error}");
    }

    private static string HashOf(IEnumerable<string> files)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        foreach (string file in files)
        {
            hash.AppendData(Encoding.UTF8.GetBytes(Path.GetFileName(file)));
            hash.AppendData(File.ReadAllBytes(file));
        }

        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }
}
