using System.Globalization;
using StreakTrack.Tests.Shared;
using StreakTrack.Validation.EnvelopeFits;
using StreakTrack.Validation.LinearRegression;
using StreakTrack.Validation.NonlinearRegression;
using StreakTrack.Validation.Univariate;

namespace StreakTrack.Validation;

public class ValidationPageTests
{
    public static TheoryData<int> Published() => [.. Enumerable.Range(0, PublishedValue.All.Count)];

    [Theory]
    [MemberData(nameof(Published))]
    public void Published_values_are_found(int index)
    {
        PublishedValue value = PublishedValue.All[index];

        double found = value.Compute();

        Assert.Equal(double.Parse(value.Published, CultureInfo.InvariantCulture), found, value.Tolerance);
    }

    // The long studies are not repeated here; the page's first lines name the command that writes it anew.
    [Fact]
    public void The_page_in_docs_has_a_row_for_every_set_series_and_study()
    {
        string page = File.ReadAllText(Path.Combine(Fixtures.RepositoryRoot, "docs", "validation.md"));

        Assert.All(StrdSet.Names, name => Assert.Contains($"| {name} |", page, StringComparison.Ordinal));
        Assert.All(StrdLinearSet.All, set => Assert.Contains($"| {set.Name} |", page, StringComparison.Ordinal));
        Assert.All(StrdUnivariateSet.All, set => Assert.Contains($"| {set.Name} |", page, StringComparison.Ordinal));
        Assert.All(PublishedValue.All, value => Assert.Contains($"| {value.Source} | {value.Quantity} |", page, StringComparison.Ordinal));
        Assert.All(ReferenceFit.All, reference => Assert.Contains($"| {reference} |", page, StringComparison.Ordinal));
        Assert.All(CoverageCase.All, study => Assert.Contains($"| {study.Name} |", page, StringComparison.Ordinal));
        Assert.Contains("Wrong answers called converged: 0.", page, StringComparison.Ordinal);
    }
}
