using System.Xml.Linq;
using StreakTrack.Core.Findings;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>The findings with their advice.</summary>
internal static class FindingsSection
{
    /// <summary>The section; it is there even when there is nothing to say, since that is worth saying.</summary>
    public static XElement Write(IReadOnlyList<Finding> findings) => Section("findings", "Findings",
        findings.Count == 0
            ? P("Nothing was found wrong with this measurement.")
            : El("ul", "findings", findings.OrderByDescending(f => f.Severity).Select(f => El("li", ClassOf(f.Severity),
                P(El("span", "severity", NameOf(f.Severity)), ": ", f.Message),
                P(f.Advice, " ", El("span", "small", "(", Code(f.Code), ")"))))));

    /// <summary>The worst findings in a few words, to stand beside the result; null when there are only remarks.</summary>
    public static XElement? Notice(IReadOnlyList<Finding> findings)
    {
        int errors = findings.Count(f => f.Severity == FindingSeverity.Error);
        int warnings = findings.Count(f => f.Severity == FindingSeverity.Warning);
        if (errors + warnings == 0)
            return null;

        IEnumerable<Finding> worst = findings.Where(f => f.Severity != FindingSeverity.Info).OrderByDescending(f => f.Severity).Take(2);
        string counted = string.Join(" and ", new[] { Counted(errors, "error"), Counted(warnings, "warning") }.Where(t => t.Length > 0));
        return El("div", "notice " + (errors > 0 ? "error" : "warning"), P(
            El("span", "severity", counted), ": ",
            string.Join(" ", worst.Select(f => f.Message)),
            " ", El("a", null, new XAttribute("href", "#findings"), "All findings, with advice"), "."));
    }

    private static string Counted(int count, string name) => count switch { 0 => "", 1 => "1 " + name, _ => $"{count} {name}s" };

    private static string ClassOf(FindingSeverity severity) => severity switch
    {
        FindingSeverity.Error => "error",
        FindingSeverity.Warning => "warning",
        _ => "info",
    };

    private static string NameOf(FindingSeverity severity) => severity switch
    {
        FindingSeverity.Error => "Error",
        FindingSeverity.Warning => "Warning",
        _ => "Remark",
    };
}
