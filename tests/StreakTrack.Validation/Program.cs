using StreakTrack.Tests.Shared;
using StreakTrack.Validation;

// Holds the fits against published and independent results and writes docs/validation.md:
//   dotnet run --project tests/StreakTrack.Validation -c Release
// A number after "--" sets how many series each coverage study simulates; the page then goes to the terminal.
const int CoverageSeries = 1000;

int series = args.Length > 0 && int.TryParse(args[0], out int asked) ? asked : CoverageSeries;
string page = ValidationPage.Write(series, line => Console.Error.WriteLine(line));
if (args.Length > 0)
{
    Console.Write(page);
}
else
{
    string docs = Path.Combine(Fixtures.RepositoryRoot, "docs");
    Directory.CreateDirectory(docs);
    File.WriteAllText(Path.Combine(docs, "validation.md"), page);
}
