using StreakTrack.Core.Tables;

namespace StreakTrack.Core.Scale;

/// <summary>
/// Reads and writes marks as CSV with the columns <c>u_px,v_px,reading_mm</c>, in any order; further columns are ignored. Written as RFC 4180 with
/// a decimal point; read as <see cref="CsvReader"/> reads.
/// </summary>
public static class MarksCsv
{
    private const long LargestFileBytes = 1_000_000;
    private const int MostMarks = 1000;
    private static readonly string[] Columns = ["u_px", "v_px", "reading_mm"];

    /// <summary>Reads the marks of a file.</summary>
    /// <param name="path">The file, UTF-8.</param>
    /// <exception cref="UnusableInputException">The file cannot be read or is not a table of marks; the message names the line.</exception>
    public static IReadOnlyList<RulerMark> Read(string path) =>
        Parse(CsvReader.TextOf(path, LargestFileBytes, $"a CSV file of marks with the columns {string.Join(',', Columns)}"), Path.GetFileName(path));

    /// <summary>Reads marks from a text.</summary>
    /// <param name="text">The table.</param>
    /// <param name="name">What messages call the table.</param>
    /// <exception cref="UnusableInputException">The text is not a table of marks; the message names the line.</exception>
    public static IReadOnlyList<RulerMark> Parse(string text, string name = "marks")
    {
        var csv = new CsvReader(text, name);
        int[] columns = [.. Columns.Select(column => csv.Require(column, $"Its first line must name the columns: {string.Join(',', Columns)}."))];
        List<RulerMark> marks = [];
        while (csv.Read())
        {
            if (marks.Count == MostMarks)
                throw new UnusableInputException(name, $"it has more than {MostMarks} marks", $"Use at most {MostMarks} marks.");
            double[] numbers = [.. columns.Select(csv.RequiredNumber)];
            marks.Add(new RulerMark(new PicturePoint(numbers[0], numbers[1]), numbers[2]));
        }

        return marks;
    }

    /// <summary>Writes marks so that <see cref="Parse"/> gives the same numbers back.</summary>
    public static void Write(TextWriter text, IEnumerable<RulerMark> marks)
    {
        ArgumentNullException.ThrowIfNull(text);
        ArgumentNullException.ThrowIfNull(marks);
        text.Write(string.Join(',', Columns) + "\r\n");
        foreach (RulerMark mark in marks)
            text.Write(FormattableString.Invariant($"{mark.Point.UPx:R},{mark.Point.VPx:R},{mark.ReadingMm:R}\r\n"));
    }
}
