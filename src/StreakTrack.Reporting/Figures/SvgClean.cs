using System.Globalization;
using System.Text.RegularExpressions;
using System.Xml.Linq;

namespace StreakTrack.Reporting.Figures;

/// <summary>Makes the drawing library's SVG fit to stand in a page and in a paper.</summary>
/// <remarks>
/// The library names one installed font, places every letter by itself, uses the same identifiers in every drawing, and writes more digits
/// than anyone can see. Here text becomes whole again with a list of families of equal widths, identifiers get the figure's name, colours
/// get
/// a class beside them so that a page can darken them, and numbers are cut to 1/100 px.
/// </remarks>
internal static partial class SvgClean
{
    private static readonly XNamespace Svg = "http://www.w3.org/2000/svg";

    /// <summary>The cleaned drawing, as a complete document without XML declaration.</summary>
    /// <param name="svg">The library's document.</param>
    /// <param name="name">The figure's name, unique within a page.</param>
    /// <param name="title">Short title, for the accessible name.</param>
    /// <param name="description">Accessible description.</param>
    public static string Tidy(string svg, string name, string title, string description)
    {
        XElement root = XDocument.Parse(svg).Root ?? throw new ArgumentException("The drawing is empty.", nameof(svg));

        // The library numbers identifiers through the life of the process; numbered by place they are the same in every run.
        Dictionary<string, string> identifiers = root.Descendants().Attributes("id")
            .Select((id, i) => (id.Value, New: string.Create(CultureInfo.InvariantCulture, $"{name}-{i + 1}")))
            .ToDictionary(p => p.Value, p => p.New);
        foreach (XElement element in root.DescendantsAndSelf().ToList())
        {
            if (element.Name == Svg + "text")
                JoinLetters(element);
            foreach (XAttribute attribute in element.Attributes().ToList())
                TidyAttribute(attribute, identifiers);
            AddClasses(element);
        }

        foreach (XElement parent in root.DescendantsAndSelf().Where(e => e.Elements(Svg + "ellipse").Any()).ToList())
            JoinDots(parent);

        string width = (string?)root.Attribute("width") ?? "0";
        string height = (string?)root.Attribute("height") ?? "0";
        root.SetAttributeValue("viewBox", $"0 0 {width} {height}");
        root.SetAttributeValue("class", "figure");
        root.SetAttributeValue("role", "img");
        root.SetAttributeValue("aria-labelledby", $"{name}-title {name}-description");
        root.AddFirst(
            new XElement(Svg + "title", new XAttribute("id", name + "-title"), title),
            new XElement(Svg + "desc", new XAttribute("id", name + "-description"), description));
        root.Attributes().Where(a => a.IsNamespaceDeclaration && a.Name.LocalName == "xlink").Remove();
        return root.ToString(SaveOptions.DisableFormatting | SaveOptions.OmitDuplicateNamespaces);
    }

    private static void JoinLetters(XElement text)
    {
        string content = text.Value.Trim();
        float sizePx = float.Parse((string?)text.Attribute("font-size") ?? "0", CultureInfo.InvariantCulture);
        text.Value = content;
        foreach (string place in new[] { "x", "y" })
        {
            string first = ((string?)text.Attribute(place) ?? "0").Split(',')[0];
            text.SetAttributeValue(place, first);
        }

        // Keeps the place of the text's end where a reader's machine falls back to a family with other widths.
        text.SetAttributeValue("textLength", FigureFont.Measure(content, sizePx).ToString("0.##", CultureInfo.InvariantCulture));
        text.SetAttributeValue("font-family", FigureFont.SvgFamilies);
        text.SetAttributeValue("font-weight", null);
    }

    /// <summary>Makes one path of neighbouring dots of one kind: strokes of no length with round ends. A clip has thousands of dots, and
    /// an element for each would make most of the page.</summary>
    private static void JoinDots(XElement parent)
    {
        static (string? Fill, string? Size) KindOf(XElement e) => ((string?)e.Attribute("fill"), (string?)e.Attribute("rx"));
        static bool IsDot(XElement e) => e.Name == Svg + "ellipse" && e.Attribute("stroke") is null
            && KindOf(e).Fill is not null and not "none" && KindOf(e).Size == (string?)e.Attribute("ry");

        static string Dot(XElement e) => $"M{(string?)e.Attribute("cx")} {(string?)e.Attribute("cy")}h0";

        XElement[] children = [.. parent.Elements()];
        for (int start = 0; start < children.Length;)
        {
            int end = start;
            while (end < children.Length && IsDot(children[end]) && KindOf(children[end]) == KindOf(children[start]))
                end++;
            if (end - start > 1)
            {
                XElement first = children[start];
                double diameter = 2 * double.Parse(KindOf(first).Size!, CultureInfo.InvariantCulture);
                first.AddBeforeSelf(new XElement(Svg + "path",
                    new XAttribute("fill", "none"), new XAttribute("stroke", KindOf(first).Fill!),
                    new XAttribute("stroke-width", diameter.ToString("0.##", CultureInfo.InvariantCulture)),
                    new XAttribute("stroke-linecap", "round"),
                    new XAttribute("d", string.Concat(children[start..end].Select(Dot))),
                    new XAttribute("class",
                        ((string?)first.Attribute("class") ?? "").Replace("fill-", "stroke-", StringComparison.Ordinal))));
                foreach (XElement dot in children[start..end])
                    dot.Remove();
            }

            start = Math.Max(end, start + 1);
        }
    }

    private static void TidyAttribute(XAttribute attribute, Dictionary<string, string> identifiers)
    {
        switch (attribute.Name.LocalName)
        {
            case "id":
                attribute.Value = identifiers[attribute.Value];
                break;
            case "clip-path":
                attribute.Value = $"url(#{identifiers[attribute.Value[5..^1]]})";
                break;
            case "font-family":
            case "xmlns":
                break;
            default:
                attribute.Value = LongNumber().Replace(attribute.Value, m =>
                    Math.Round(double.Parse(m.Value, CultureInfo.InvariantCulture), 2).ToString("0.##", CultureInfo.InvariantCulture));
                break;
        }
    }

    private static void AddClasses(XElement element)
    {
        string[] classes =
        [
            .. new[] { "fill", "stroke" }.Select(kind => (Kind: kind, Colour: (string?)element.Attribute(kind)))
                .Where(p => p.Colour is not null && FigurePalette.RoleOf(p.Colour) is not null)
                .Select(p => $"{p.Kind}-{FigurePalette.ClassName(FigurePalette.RoleOf(p.Colour!)!.Value)}"),
        ];
        if (element.Name == Svg + "text" && element.Attribute("fill") is null)
            throw new InvalidOperationException("The drawing library wrote a text without a colour.");
        if (classes.Length > 0)
            element.SetAttributeValue("class", string.Join(' ', classes));
    }

    [GeneratedRegex(@"-?\d+\.\d{3,}(e-?\d+)?")]
    private static partial Regex LongNumber();
}
