using System.Globalization;
using System.Text;

namespace StreakTrack.Core.Tables;

/// <summary>A table of numbers read from CSV: a header that names the columns, and rows that remember the line they came from.</summary>
/// <remarks>
/// RFC 4180, and besides: semicolons or tabs between cells, line feeds alone, lines that begin with <c>#</c> as comments, empty lines.
/// Numbers
/// have a decimal point; an empty cell is a missing number. Column names are compared without regard to case.
/// </remarks>
public sealed class CsvTable
{
    /// <summary>A file larger than this is no table for a study, in bytes.</summary>
    private const long MaxBytes = 16L << 20;

    /// <summary>No quantity of a study is larger, in whatever unit; sums of squares of such numbers stay finite.</summary>
    private const double LargestNumber = 1e15;

    private const int MaxShownCharacters = 40;

    private readonly List<(int Line, string[] Cells)> _rows;

    private CsvTable(string subject, int headerLine, string[] columns, List<(int Line, string[] Cells)> rows)
    {
        Subject = subject;
        HeaderLine = headerLine;
        Columns = columns;
        _rows = rows;
    }

    /// <summary>What messages call the table: its path.</summary>
    public string Subject { get; }

    /// <summary>Names of the columns, in order, trimmed.</summary>
    public IReadOnlyList<string> Columns { get; }

    /// <summary>Number of rows of data.</summary>
    public int RowCount => _rows.Count;

    private int HeaderLine { get; }

    /// <summary>Reads a file.</summary>
    /// <param name="path">The file, UTF-8.</param>
    /// <exception cref="UnusableInputException">The file is missing, unreadable, too large or no such table; the message names the
    /// line.</exception>
    public static CsvTable Read(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        try
        {
            var file = new FileInfo(path);
            if (!file.Exists)
                throw new UnusableInputException(path, "there is no such file", "Name a CSV file.");
            if (file.Length > MaxBytes)
                throw new UnusableInputException(path, "the file is too large for a table", "Name a CSV file with one row a measurement.");
            return Parse(File.ReadAllText(path, Encoding.UTF8), path);
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException)
        {
            throw new UnusableInputException(path, "the file cannot be read", cause.Message, cause);
        }
    }

    /// <summary>Reads a table from its text.</summary>
    /// <param name="text">The text.</param>
    /// <param name="subject">What to call it in messages.</param>
    /// <exception cref="UnusableInputException">The text is no such table; the message names the line.</exception>
    public static CsvTable Parse(string text, string subject)
    {
        if (text.Contains('\0', StringComparison.Ordinal))
            throw new UnusableInputException(subject, "it is not a text file", "Name a CSV file, saved as UTF-8.");

        string[]? columns = null;
        int headerLine = 0;
        char separator = ',';
        var rows = new List<(int Line, string[] Cells)>();
        int lineNumber = 0;
        foreach (ReadOnlySpan<char> raw in text.AsSpan().EnumerateLines())
        {
            lineNumber++;
            ReadOnlySpan<char> line = raw.TrimStart('\uFEFF');
            if (line.IsWhiteSpace() || line[0] == '#')
                continue;
            if (columns is null)
            {
                separator = line.Contains(',') ? ',' : line.Contains('\t') ? '\t' : line.Contains(';') ? ';' : ',';
                columns = Header(Split(line, separator, lineNumber, subject), lineNumber, subject);
                headerLine = lineNumber;
                continue;
            }

            string[] cells = Split(line, separator, lineNumber, subject);
            if (cells.Length != columns.Length)
            {
                throw new UnusableInputException($"{subject} line {lineNumber}",
                    $"the row has {cells.Length} cells and the header has {columns.Length}",
                    "Check for a decimal comma: numbers need a decimal point.");
            }

            rows.Add((lineNumber, cells));
        }

        if (columns is null)
            throw new UnusableInputException(subject, "the file is empty", "Its first line must name the columns.");
        if (rows.Count == 0)
            throw new UnusableInputException(subject, "there is a header but no row of data", "Write one row a measurement below the header.");
        return new CsvTable(subject, headerLine, columns, rows);
    }

    /// <summary>Position of the first of some columns that is there, or -1.</summary>
    /// <param name="names">Names that mean the same, the preferred one first.</param>
    public int IndexOf(params ReadOnlySpan<string> names)
    {
        foreach (string name in names)
        {
            for (int i = 0; i < Columns.Count; i++)
            {
                if (string.Equals(Columns[i], name, StringComparison.OrdinalIgnoreCase))
                    return i;
            }
        }

        return -1;
    }

    /// <summary>Position of a column that has to be there.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="meaning">What it holds, for the message: "the drive frequency in Hz".</param>
    /// <exception cref="UnusableInputException">There is no such column.</exception>
    public int Require(string name, string meaning)
    {
        int index = IndexOf(name);
        return index >= 0
            ? index
            : throw new UnusableInputException($"{Subject} line {HeaderLine}",
                $"there is no column {name}; the columns are {string.Join(", ", Columns)}", $"Name the column with {meaning} {name}.");
    }

    /// <summary>What messages call a row: "table.csv line 4".</summary>
    /// <param name="row">The row, from 0.</param>
    public string NameOfRow(int row) => $"{Subject} line {_rows[row].Line}";

    /// <summary>The number in a cell.</summary>
    /// <param name="row">The row, from 0.</param>
    /// <param name="column">The column, from 0; -1 stands for a column that is not there.</param>
    /// <returns>The number, finite; NaN for an empty cell or a column that is not there.</returns>
    /// <exception cref="UnusableInputException">The cell holds something else.</exception>
    public double Number(int row, int column)
    {
        if (column < 0)
            return double.NaN;
        string cell = _rows[row].Cells[column].Trim();
        if (cell.Length == 0)
            return double.NaN;
        if (double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && Math.Abs(value) <= LargestNumber)
            return value;

        string shown = cell.Length > MaxShownCharacters ? cell[..MaxShownCharacters] + "…" : cell;
        string problem = Math.Abs(value) > LargestNumber ? "is beyond every measurement" : "is no number";
        throw new UnusableInputException(NameOfRow(row), $"\"{shown}\" in column {Columns[column]} {problem}",
            "Write numbers with a decimal point, and leave a missing one empty.");
    }

    /// <summary>The number in a cell that must not be empty.</summary>
    /// <param name="row">The row, from 0.</param>
    /// <param name="column">The column, from 0.</param>
    /// <exception cref="UnusableInputException">The cell is empty or holds no number.</exception>
    public double RequiredNumber(int row, int column)
    {
        double value = Number(row, column);
        return double.IsNaN(value)
            ? throw new UnusableInputException(NameOfRow(row), $"there is no value for {Columns[column]}", "Fill in the cell or delete the row.")
            : value;
    }

    /// <summary>A standard uncertainty: positive, or NaN for an empty cell or a column that is not there.</summary>
    /// <param name="row">The row, from 0.</param>
    /// <param name="column">The column, from 0; -1 stands for a column that is not there.</param>
    /// <exception cref="UnusableInputException">The cell holds no number, or one that is not positive.</exception>
    public double Uncertainty(int row, int column)
    {
        double value = Number(row, column);
        return value <= 0
            ? throw new UnusableInputException(NameOfRow(row), $"the standard uncertainty in column {Columns[column]} is not positive",
                "Leave the cell empty where the uncertainty is not known.")
            : value;
    }

    private static string[] Header(string[] cells, int lineNumber, string subject)
    {
        string[] names = [.. cells.Select(cell => cell.Trim())];
        foreach (string name in names)
        {
            // The names stand in figures, whose format has no such characters.
            if (name.Any(c => char.IsControl(c) || c is '\uFFFE' or '\uFFFF'))
            {
                throw new UnusableInputException($"{subject} line {lineNumber}", "a name of a column holds control characters",
                    "Name the columns with letters, digits and underscores.");
            }

            if (names.Count(other => string.Equals(other, name, StringComparison.OrdinalIgnoreCase)) > 1)
            {
                throw new UnusableInputException($"{subject} line {lineNumber}", $"the column \"{name}\" is there twice",
                    "Give every column a name of its own.");
            }
        }

        return names;
    }

    private static string[] Split(ReadOnlySpan<char> line, char separator, int lineNumber, string subject)
    {
        var cells = new List<string>();
        var cell = new StringBuilder();
        int i = 0;
        while (true)
        {
            cell.Clear();
            if (i < line.Length && line[i] == '"')
            {
                i = Quoted(line, i + 1, cell);
                if (i < 0)
                {
                    throw new UnusableInputException($"{subject} line {lineNumber}", "a quoted cell does not end",
                        "Close the quotation mark on the same line.");
                }
            }

            while (i < line.Length && line[i] != separator)
                cell.Append(line[i++]);
            cells.Add(cell.ToString());
            if (i >= line.Length)
                return [.. cells];
            i++;
        }
    }

    /// <summary>Reads the inside of a quoted cell; returns the position after it, or -1 when it does not end.</summary>
    private static int Quoted(ReadOnlySpan<char> line, int start, StringBuilder cell)
    {
        for (int i = start; i < line.Length; i++)
        {
            if (line[i] != '"')
                cell.Append(line[i]);
            else if (i + 1 < line.Length && line[i + 1] == '"')
                cell.Append(line[i++]);
            else
                return i + 1;
        }

        return -1;
    }
}
