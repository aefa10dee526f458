using System.Globalization;
using System.Text;

namespace StreakTrack.Core.Scale;

/// <summary>Reads and writes marks as CSV (RFC 4180) with the columns <c>u_px,v_px,reading_mm</c>, in any order; further columns are ignored.
/// Numbers use '.', lines that are empty are skipped.</summary>
public static class MarksCsv
{
    private const int LongestFileCharacters = 1_000_000;
    private const int MostMarks = 1000;
    private static readonly string[] Columns = ["u_px", "v_px", "reading_mm"];

    private static readonly string HeaderHelp = "Its first line must name the columns: " + string.Join(',', Columns) + ".";

    /// <summary>Reads the marks of a file.</summary>
    /// <param name="path">The file, UTF-8.</param>
    /// <exception cref="UnusableInputException">The file cannot be read or is not a table of marks; the message names the line.</exception>
    public static IReadOnlyList<RulerMark> Read(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        try
        {
            using StreamReader reader = new(path, Encoding.UTF8);
            return Read(reader, Path.GetFileName(path));
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            bool missing = cause is FileNotFoundException or DirectoryNotFoundException;
            throw new UnusableInputException(path, missing ? "there is no such file" : "the file cannot be read",
                missing ? "Check the name, or write the marks to it: " + string.Join(',', Columns) + "." : cause.Message, cause);
        }
    }

    /// <summary>Reads marks from a text.</summary>
    /// <param name="text">The table, at most a million characters.</param>
    /// <param name="name">What messages call the table.</param>
    /// <exception cref="UnusableInputException">The text is not a table of marks; the message names the line.</exception>
    public static IReadOnlyList<RulerMark> Read(TextReader text, string name = "marks")
    {
        ArgumentNullException.ThrowIfNull(text);
        char[] buffer = new char[LongestFileCharacters + 1];
        int length = text.ReadBlock(buffer, 0, buffer.Length);
        if (length > LongestFileCharacters)
            throw new UnusableInputException(name, "it has more than a million characters, so it is no list of marks", HeaderHelp);
        if (buffer.AsSpan(0, length).Contains('\0'))
            throw new UnusableInputException(name, "it is not a text file", "Give a CSV table of marks, saved as UTF-8. " + HeaderHelp);

        List<RulerMark> marks = [];
        int[]? columns = null;
        foreach ((int line, List<string> fields) in Records(new string(buffer, 0, length), name))
        {
            if (fields is [""])
                continue;
            if (columns is null)
            {
                columns = FindColumns(fields, line, name);
                continue;
            }

            if (marks.Count == MostMarks)
                throw new UnusableInputException(name, $"it has more than {MostMarks} marks", $"Use at most {MostMarks} marks.");
            marks.Add(new RulerMark(
                new PicturePoint(Number(fields, columns, 0, line, name), Number(fields, columns, 1, line, name)),
                Number(fields, columns, 2, line, name)));
        }

        return columns is null ? throw new UnusableInputException(name, "it is empty", HeaderHelp) : marks;
    }

    /// <summary>Writes marks so that <see cref="Read(TextReader, string)"/> gives the same numbers back.</summary>
    public static void Write(TextWriter text, IEnumerable<RulerMark> marks)
    {
        ArgumentNullException.ThrowIfNull(text);
        ArgumentNullException.ThrowIfNull(marks);
        text.Write(string.Join(',', Columns) + "\r\n");
        foreach (RulerMark mark in marks)
            text.Write(FormattableString.Invariant($"{mark.Point.UPx:R},{mark.Point.VPx:R},{mark.ReadingMm:R}\r\n"));
    }

    private static int[] FindColumns(List<string> fields, int line, string name)
    {
        string[] names = [.. fields.Select(field => field.Trim().TrimStart('\uFEFF').ToLowerInvariant())];
        int[] columns = new int[Columns.Length];
        for (int c = 0; c < Columns.Length; c++)
        {
            columns[c] = Array.IndexOf(names, Columns[c]);
            if (columns[c] < 0)
            {
                string hint = fields.Count == 1 && fields[0].Contains(';')
                    ? " The columns are to be separated by commas, not semicolons." : string.Empty;
                throw new UnusableInputException($"{name} line {line}", $"the column {Columns[c]} is missing", HeaderHelp + hint);
            }

            if (Array.LastIndexOf(names, Columns[c]) != columns[c])
                throw new UnusableInputException($"{name} line {line}", $"the column {Columns[c]} occurs twice", HeaderHelp);
        }

        return columns;
    }

    private static double Number(List<string> fields, int[] columns, int column, int line, string name)
    {
        if (columns[column] >= fields.Count)
        {
            throw new UnusableInputException($"{name} line {line}", $"there is no value for {Columns[column]}",
                "Give each mark its u_px, v_px and reading_mm, separated by commas.");
        }

        string field = fields[columns[column]].Trim();
        if (double.TryParse(field, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value))
            return value;
        string shown = field.Length > 40 ? field[..40] + "..." : field;
        throw new UnusableInputException($"{name} line {line}", $"\"{shown}\" is not a number for {Columns[column]}",
            field.Contains(',') ? "Write decimals with a point, not a comma." : "Write a plain number such as 812.5.");
    }

    /// <summary>The records of a CSV text with the line each begins on (RFC 4180: quoted fields may hold commas, quotes and line ends).</summary>
    private static IEnumerable<(int Line, List<string> Fields)> Records(string text, string name)
    {
        int at = 0, line = 1;
        while (at < text.Length)
        {
            int startLine = line;
            List<string> fields = [];
            while (true)
            {
                StringBuilder field = new();
                if (at < text.Length && text[at] == '"')
                {
                    at++;
                    while (true)
                    {
                        if (at >= text.Length)
                        {
                            throw new UnusableInputException($"{name} line {startLine}", "a quoted field does not end",
                                "Close the quotation mark, or leave quotation marks out.");
                        }

                        if (text[at] == '"')
                        {
                            at++;
                            if (at >= text.Length || text[at] != '"')
                                break;
                        }

                        if (text[at] == '\n')
                            line++;
                        field.Append(text[at++]);
                    }
                }

                while (at < text.Length && text[at] is not (',' or '\r' or '\n'))
                    field.Append(text[at++]);
                fields.Add(field.ToString());
                if (at < text.Length && text[at] == ',')
                {
                    at++;
                    continue;
                }

                if (at < text.Length && text[at] == '\r')
                    at++;
                if (at < text.Length && text[at] == '\n')
                    at++;
                line++;
                break;
            }

            yield return (startLine, fields);
        }
    }
}
