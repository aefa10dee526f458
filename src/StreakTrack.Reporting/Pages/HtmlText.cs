using System.Text;
using System.Xml.Linq;

namespace StreakTrack.Reporting.Pages;

/// <summary>Writes a tree of elements as a page that HTML and XML readers both understand.</summary>
/// <remarks>
/// The page is built as a tree, so every text from outside (file names above all) is encoded when it is written, in one place. An HTML
/// reader takes "&lt;td/&gt;" for an opening tag, so only void elements and the contents of drawings are closed that way.
/// </remarks>
internal static class HtmlText
{
    private static readonly HashSet<string> Void =
        ["area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"];

    /// <summary>The whole page with its document type.</summary>
    public static string Page(XElement html)
    {
        StringBuilder text = new("<!DOCTYPE html>\n");
        Write(text, html, inDrawing: false);
        return text.Append('\n').ToString();
    }

    private static void Write(StringBuilder text, XElement element, bool inDrawing)
    {
        bool drawing = inDrawing || element.Name.LocalName == "svg";
        text.Append('<').Append(element.Name.LocalName);

        // An HTML reader knows drawings by their name and needs no namespaces.
        foreach (XAttribute attribute in element.Attributes().Where(a => !a.IsNamespaceDeclaration))
        {
            text.Append(' ').Append(attribute.Name.LocalName).Append("=\"");
            Encode(text, attribute.Value, quotes: true);
            text.Append('"');
        }

        if (!element.Nodes().Any() && (drawing || Void.Contains(element.Name.LocalName)))
        {
            text.Append("/>");
            return;
        }

        text.Append('>');
        foreach (XNode node in element.Nodes())
        {
            if (node is XElement child)
                Write(text, child, drawing);
            else if (node is XText words)
                Encode(text, words.Value, quotes: false);
        }

        text.Append("</").Append(element.Name.LocalName).Append('>');
        if (!drawing && IsBlock(element.Name.LocalName))
            text.Append('\n');
    }

    /// <summary>After these a line ends, so that the page can be read and compared as text.</summary>
    private static bool IsBlock(string name) => name is "p" or "h1" or "h2" or "h3" or "tr" or "table" or "thead" or "caption" or "section"
        or "figure" or "figcaption" or "li" or "ul" or "header" or "footer" or "main" or "head" or "style" or "title" or "div" or "meta";

    private static void Encode(StringBuilder text, string value, bool quotes)
    {
        foreach (Rune rune in value.EnumerateRunes())
        {
            switch (rune.Value)
            {
                case '&':
                    text.Append("&amp;");
                    break;
                case '<':
                    text.Append("&lt;");
                    break;
                case '>':
                    text.Append("&gt;");
                    break;
                case '"' when quotes:
                    text.Append("&quot;");
                    break;
                case '\n' or '\t':
                    text.Append((char)rune.Value);
                    break;
                // Control characters have no place in XML at all; direction marks could show a file name as another one.
                case < 0x20 or (>= 0x7F and < 0xA0) or 0xFFFE or 0xFFFF or (>= 0x202A and <= 0x202E) or (>= 0x2066 and <= 0x2069):
                    text.Append('\uFFFD');
                    break;
                default:
                    text.Append(rune);
                    break;
            }
        }
    }
}
