using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Reporting.Figures;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>Places figures in the page and counts them.</summary>
/// <param name="figures">The figures, by name.</param>
internal sealed class FigureNumbering(IReadOnlyDictionary<string, Figure> figures)
{
    private int _count;

    /// <summary>The figure with its caption and the next number; null when there is no such figure.</summary>
    public XElement? Place(string name)
    {
        if (!figures.TryGetValue(name, out Figure? figure))
            return null;
        _count++;
        return El("figure", null, new XAttribute("id", "figure-" + figure.Name),
            XElement.Parse(figure.Svg),
            El("figcaption", null,
                El("b", null, string.Create(CultureInfo.InvariantCulture, $"Figure {_count}. {figure.Title}. ")), figure.Caption));
    }
}
