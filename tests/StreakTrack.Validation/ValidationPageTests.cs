using StreakTrack.Tests.Shared;
using StreakTrack.Validation.EnvelopeFits;
using StreakTrack.Validation.NonlinearRegression;

namespace StreakTrack.Validation;

public class ValidationPageTests
{
    // The long studies are not repeated here; the page's first lines name the command that writes it anew.
    [Fact]
    public void The_page_in_docs_has_a_row_for_every_set_series_and_study()
    {
        string page = File.ReadAllText(Path.Combine(Fixtures.RepositoryRoot, "docs", "validation.md"));

        Assert.All(StrdSet.Names, name => Assert.Contains($"| {name} |", page, StringComparison.Ordinal));
        Assert.All(ReferenceFit.All, reference => Assert.Contains($"| {reference} |", page, StringComparison.Ordinal));
        Assert.All(CoverageCase.All, study => Assert.Contains($"| {study.Name} |", page, StringComparison.Ordinal));
        Assert.Contains("Wrong answers called converged: 0.", page, StringComparison.Ordinal);
    }
}
