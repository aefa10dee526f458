using StreakTrack.Grading.Class;

namespace StreakTrack.Grading.Studies;

/// <summary>Expected beside found.</summary>
/// <param name="Expected">What was due.</param>
/// <param name="Verdict">The verdict found.</param>
/// <param name="Codes">Codes found, each once.</param>
/// <param name="Resembles">Submissions named in the column of resemblances.</param>
/// <param name="NormalisedError">E_n found.</param>
internal sealed record FoundVerdict(Expectation Expected, string Verdict, IReadOnlyList<string> Codes, IReadOnlyList<string> Resembles, string NormalisedError)
{
    /// <summary>What differs from what was due; empty when nothing does.</summary>
    public IReadOnlyList<string> Misses =>
    [
        .. Verdict == Reporting.ClassTable.ClassCsv.NameOf(Expected.Verdict) ? (string[])[] : [$"verdict {Verdict}"],
        .. Expected.Codes.Where(c => !Codes.Contains(c)).Select(c => $"{c} missing"),
        .. Expected.MustNotHave.Where(Codes.Contains).Select(c => $"{c} without cause"),
        .. Expected.Resembles.Except(Resembles).Select(r => $"likeness to {r} missed"),
        .. Resembles.Except(Expected.Resembles).Select(r => $"likeness to {r} without cause"),
    ];
}

/// <summary>Holds the table of a graded class against what is due to its submissions.</summary>
internal static class VerdictStudy
{
    /// <summary>Compares.</summary>
    /// <param name="expected">What is due.</param>
    /// <param name="graded">Folder with <c>class.csv</c>.</param>
    public static IReadOnlyList<FoundVerdict> Of(IReadOnlyList<Expectation> expected, string graded)
    {
        Dictionary<string, Dictionary<string, string>> rows = CsvRows.Read(Path.Combine(graded, "class.csv")).ToDictionary(r => r["submission"]);
        return [.. expected.Select(e =>
        {
            Dictionary<string, string> row = rows[e.Submission];
            return new FoundVerdict(e, row["verdict"], row["findings"].Split(';', StringSplitOptions.RemoveEmptyEntries), NamesOf(row["alike"]), row["normalised_error"]);
        })];
    }

    // Each stands as: name (how alike).
    private static string[] NamesOf(string alike) => [.. alike.Split("; ", StringSplitOptions.RemoveEmptyEntries).Select(a => a[..a.LastIndexOf(" (", StringComparison.Ordinal)])];
}
