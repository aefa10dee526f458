using System.Xml.Linq;
using StreakTrack.Core.Records;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>The cautions for whoever films again.</summary>
internal static class SafetySection
{
    /// <summary>The section; null when no clip was filmed.</summary>
    public static XElement? Write(AnalysisRecord record) => record.Clip is null ? null : Write("When you film again: safety");

    /// <summary>The section under a heading of its own.</summary>
    public static XElement Write(string heading) => Section("safety", heading,
        El("ul", null,
            El("li", null, "Use a laser of class 2 or below, and never look into the beam or into its reflection from the mirror."),
            El("li", null, "Keep the plane of the beam below eye height, sitting and standing, and end the beam on a matt screen."),
            El("li", null, "Do not point a camera into the beam."),
            El("li", null, "Strobed light can trigger seizures: warn everyone present before it is switched on."),
            El("li", null, "Keep strong magnets away from people with a pacemaker or another implanted device.")),
        P("Local rules and the responsible laser safety officer decide (IEC 60825-1)."));
}
