using System.Text;
using StreakTrack.Core.Findings;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Core.Tests.Findings;

/// <summary><c>docs/findings.md</c> is the table of <see cref="FindingKinds"/> in readable form.</summary>
public class FindingsPageTests
{
    [Fact]
    public void The_page_lists_every_kind_as_the_program_words_it()
    {
        string path = Path.Combine(Fixtures.RepositoryRoot, "docs", "findings.md");
        string expected = Page();
        if (Environment.GetEnvironmentVariable("STREAKTRACK_WRITE_DOCS") == "1")
            File.WriteAllText(path, expected);

        Assert.Equal(expected, File.ReadAllText(path));
    }

    private static string Page()
    {
        var page = new StringBuilder(
            """
            # Findings

            Every remark that StreakTrack can make about a clip, its marks or a fit, in the order of the stages. A remark never changes a number; it
            says what to think of it. The severity is the usual one.

            Written by `STREAKTRACK_WRITE_DOCS=1 dotnet test -c Release tests/StreakTrack.Core.Tests`; the same test fails when the page is out of date.

            | code | severity | meaning | what to do |
            | --- | --- | --- | --- |

            """);
        foreach (FindingKind kind in FindingKinds.All)
            page.Append($"| `{kind.Code}` | {kind.Severity.ToString().ToLowerInvariant()} | {kind.Meaning} | {kind.Advice} |\n");
        return page.ToString();
    }
}
