using System.Xml.Linq;

namespace StreakTrack.Reporting.Pages;

/// <summary>Short names for the elements that the report is built of.</summary>
internal static class Html
{
    /// <summary>An element with its class (null for none) and contents: texts, elements, attributes, sequences of them; null is left
    /// out.</summary>
    public static XElement El(string name, string? cssClass, params object?[] contents)
    {
        XElement element = new(name, contents);
        if (cssClass is not null)
            element.SetAttributeValue("class", cssClass);
        return element;
    }

    /// <summary>A paragraph.</summary>
    public static XElement P(params object?[] contents) => El("p", null, contents);

    /// <summary>A section with a heading that can be linked to.</summary>
    public static XElement Section(string id, string heading, params object?[] contents) =>
        El("section", null, new XAttribute("id", id), new XAttribute("aria-labelledby", id + "-heading"),
            El("h2", null, new XAttribute("id", id + "-heading"), heading), contents);

    /// <summary>A table of facts: each row a name and what is to be said about it; rows without a value are left out.</summary>
    public static XElement Facts(string caption, IEnumerable<(string Name, object? Value)> rows) =>
        El("table", "facts", El("caption", null, caption), El("tbody", null, rows.Where(r => r.Value is not null).Select(r =>
            El("tr", null, El("th", null, new XAttribute("scope", "row"), r.Name), El("td", null, r.Value)))));

    /// <summary>A table with a header row; the first cell of each row heads the row.</summary>
    /// <param name="caption">What the table shows.</param>
    /// <param name="columns">The header cells.</param>
    /// <param name="rows">The rows, each with a cell for every column.</param>
    /// <param name="numeric">Columns that hold numbers and are aligned at the right.</param>
    public static XElement Table(
        string caption, IReadOnlyList<object> columns, IEnumerable<IReadOnlyList<object?>> rows, params int[] numeric)
    {
        string? ClassOf(int column) => numeric.Contains(column) ? "number" : null;
        return El("div", "scroll", El("table", null,
            El("caption", null, caption),
            El("thead", null, El("tr", null, columns.Select((c, i) => El("th", ClassOf(i), new XAttribute("scope", "col"), c)))),
            El("tbody", null, rows.Select(row => El("tr", null, row.Select((cell, i) => i == 0
                ? El("th", ClassOf(i), new XAttribute("scope", "row"), cell)
                : El("td", ClassOf(i), cell)))))));
    }

    /// <summary>A text in the typeface of code: hashes, keys, commands.</summary>
    public static XElement Code(string text) => El("code", null, text);

    /// <summary>A quantity's symbol, in italics as ISO 80000-1 wants it.</summary>
    public static XElement Symbol(string text) => El("i", null, text);
}
