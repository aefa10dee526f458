using StreakTrack.Accuracy;
using StreakTrack.Tests.Shared;

// Measures the accuracy of the whole analysis on clips with known truth and writes docs/accuracy.md:
//   dotnet run --project tests/StreakTrack.Accuracy -c Release
// With words after "--" only some of it runs, and the page goes to the terminal: fixtures, grid, registration, ordinary, or part of a case's name.
const int OrdinaryClips = 40, RegistrationSeeds = 4;

bool Wanted(string section) => args.Length == 0 || args.Contains(section);

IReadOnlyList<CaseResult> fixtures = Wanted("fixtures") ? Measure(FixtureClips.All(), CaseRunner.Run) : [];
AccuracyCase[] chosen = [.. AccuracyGrid.OneAtATime().Where(
    c => Wanted("grid") || args.Any(a => c.Scenario.Name.Contains(a, StringComparison.OrdinalIgnoreCase)))];
IReadOnlyList<CaseResult> grid = Measure(chosen, CaseRunner.Run);
IReadOnlyList<CaseResult> ordinary = Wanted("ordinary") ? Measure(AccuracyGrid.Ordinary(OrdinaryClips), CaseRunner.Run) : [];

string page = AccuracyReport.Write(fixtures, grid, ordinary);
if (Wanted("registration"))
{
    page += AccuracyReport.Registration(
    [
        .. RegistrationCase.All.Select(c => (c,
            (IReadOnlyList<RegistrationResult>)[.. Enumerable.Range(8410, RegistrationSeeds).Select(seed => RegistrationResult.Of(c.Scenario(seed)))])),
    ]);
}

if (args.Length > 0)
{
    Console.Write(page);
}
else
{
    string docs = Path.Combine(Fixtures.RepositoryRoot, "docs");
    Directory.CreateDirectory(docs);
    File.WriteAllText(Path.Combine(docs, "accuracy.md"), page);
}

static IReadOnlyList<CaseResult> Measure<T>(IReadOnlyList<T> cases, Func<T, CaseResult> run)
{
    var results = new List<CaseResult>();
    foreach (T one in cases)
    {
        results.Add(run(one));
        Console.Error.WriteLine($"{results.Count}/{cases.Count} {AccuracyReport.Line(results[^1])}");
    }

    return results;
}
