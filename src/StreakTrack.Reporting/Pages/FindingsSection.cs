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
