using System.Globalization;
using System.Text;

namespace StreakTrack.Core.Tables;

/// <summary>Reads a table of numbers from CSV, row by row: a header that names the columns, then rows that know the line they begin on.</summary>
/// <remarks>
/// RFC 4180, and besides what other programs write: semicolons or tabs between cells, then also a decimal comma; line feeds alone; a byte order
/// mark; lines that begin with <c>#</c> as comments; empty lines and rows. An empty cell, <c>NaN</c> and <c>NA</c> are missing numbers. Column names are
/// compared without regard to case.
/// </remarks>
public sealed class CsvReader
{
    /// <summary>No quantity is larger, in whatever unit; sums of squares of such numbers stay finite.</summary>
    private const double LargestNumber = 1e15;

    private const int MaxShownCharacters = 40;

    private static readonly char[] Separators = ['\t', ';', ','];

    private readonly string _text;
    private readonly char _separator;
    private readonly List<string> _cells = [];
    private int _at;
    private int _nextLine = 1;
    private char _decimalSign;

    /// <summary>Reads the header.</summary>
    /// <param name="text">The text.</param>
    /// <param name="subject">What to call it in messages.</param>
    /// <exception cref="UnusableInputException">The text is no such table; the message names the line.</exception>
    public CsvReader(string text, string subject)
    {
        ArgumentNullException.ThrowIfNull(text);
        Subject = subject;
        _text = text;
        if (text.Contains('\0', StringComparison.Ordinal))
            throw new UnusableInputException(subject, "it is not a text file", "Name a CSV file, saved as UTF-8.");
        if (text.StartsWith('\uFEFF'))
            _at = 1;
        _separator = SeparatorOf();
        if (!NextRecord())
            throw new UnusableInputException(subject, "the file is empty", "Its first line must name the columns.");
        HeaderLine = Line;
        Columns = [.. _cells.Select(cell => cell.Trim())];
        foreach (string name in Columns)
        {
            // The names stand in figures, whose format has no such characters.
            if (name.Any(c => char.IsControl(c) || c is '\uFFFE' or '\uFFFF'))
            {
                throw new UnusableInputException($"{subject} line {HeaderLine}", "a name of a column holds control characters",
                    "Name the columns with letters, digits and underscores.");
            }
        }
    }

    /// <summary>What messages call the table: its path.</summary>
    public string Subject { get; }

    /// <summary>Names of the columns, in order, trimmed.</summary>
    public IReadOnlyList<string> Columns { get; }

    /// <summary>Line of the header, from 1.</summary>
    public int HeaderLine { get; }

    /// <summary>Line that the current row begins on, from 1.</summary>
    public int Line { get; private set; }

    /// <summary>Cells of the current row, one for each column; valid until the next row is read.</summary>
    public IReadOnlyList<string> Cells => _cells;

    /// <summary>The text of a file.</summary>
    /// <param name="path">The file; UTF-8, or with a byte order mark that says otherwise.</param>
    /// <param name="largestBytes">A larger file is refused.</param>
    /// <param name="content">What the file should be, for messages: "a CSV file with one row a measurement".</param>
    /// <exception cref="UnusableInputException">The file is missing, unreadable or too large.</exception>
    public static string TextOf(string path, long largestBytes, string content)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        try
        {
            var file = new FileInfo(path);
            if (!file.Exists)
                throw new UnusableInputException(path, "there is no such file", $"Check the name; it should be {content}.");
            if (file.Length > largestBytes)
                throw new UnusableInputException(path, "the file is too large", $"Name {content}.");
            return File.ReadAllText(path);
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            throw new UnusableInputException(path, "the file cannot be read", cause.Message, cause);
        }
    }

    /// <summary>Goes to the next row.</summary>
    /// <returns>Whether there is one.</returns>
    /// <exception cref="UnusableInputException">The row is broken or has another number of cells than the header.</exception>
    public bool Read()
    {
        // Spreadsheets write rows of nothing but separators, and end rows with empty cells when some row of the sheet was longer.
        do
        {
            if (!NextRecord())
                return false;
        }
        while (_cells.TrueForAll(string.IsNullOrWhiteSpace));

        while (_cells.Count > Columns.Count && string.IsNullOrWhiteSpace(_cells[^1]))
            _cells.RemoveAt(_cells.Count - 1);
        if (_cells.Count == Columns.Count)
            return true;
        throw new UnusableInputException($"{Subject} line {Line}", $"the row has {_cells.Count} cells and the header has {Columns.Count}",
            _cells.Count > Columns.Count && _separator == ','
                ? "Check for a decimal comma: it needs semicolons or tabs between the cells."
                : "Give every row a cell for each column; leave the cell of a missing number empty.");
    }

    /// <summary>Position of the first of some columns that is there, or -1.</summary>
    /// <param name="names">Names that mean the same, the preferred one first.</param>
    /// <exception cref="UnusableInputException">It is there twice.</exception>
    public int IndexOf(params ReadOnlySpan<string> names)
    {
        foreach (string name in names)
        {
            int found = -1;
            for (int i = 0; i < Columns.Count; i++)
            {
                if (!string.Equals(Columns[i], name, StringComparison.OrdinalIgnoreCase))
                    continue;
                if (found >= 0)
                {
                    throw new UnusableInputException($"{Subject} line {HeaderLine}", $"the column {Columns[i]} is there twice",
                        "Give every column a name of its own.");
                }

                found = i;
            }

            if (found >= 0)
                return found;
        }

        return -1;
    }

    /// <summary>Position of a column that has to be there.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="remedy">What to do when it is missing; a sentence.</param>
    /// <exception cref="UnusableInputException">There is no such column, or there are two.</exception>
    public int Require(string name, string remedy)
    {
        int index = IndexOf(name);
        return index >= 0
            ? index
            : throw new UnusableInputException($"{Subject} line {HeaderLine}",
                $"there is no column {name}; the columns are {string.Join(", ", Columns)}", remedy);
    }

    /// <summary>The number in a cell of the current row.</summary>
    /// <param name="column">The column, from 0; -1 stands for a column that is not there.</param>
    /// <returns>The number, finite; NaN for a missing number or a column that is not there.</returns>
    /// <exception cref="UnusableInputException">The cell holds something else.</exception>
    public double Number(int column) => column < 0 ? double.NaN : NumberIn(_cells[column], Line, column);

    /// <summary>The number in a cell of the current row that must not be empty.</summary>
    /// <param name="column">The column, from 0.</param>
    /// <exception cref="UnusableInputException">The number is missing, or the cell holds something else.</exception>
    public double RequiredNumber(int column) => Required(Number(column), Line, column);

    /// <summary>The number in a cell that was kept.</summary>
    internal double NumberIn(string cell, int line, int column)
    {
        ReadOnlySpan<char> digits = cell.AsSpan().Trim();
        if (digits.IsEmpty || digits.Equals("NaN", StringComparison.OrdinalIgnoreCase) || digits.Equals("NA", StringComparison.Ordinal))
            return double.NaN;
        string plain = cell;
        char sign = digits.Contains('.') ? '.' : digits.Contains(',') && _separator != ',' ? ',' : '\0';
        if (sign == ',')
            plain = cell.Replace(',', '.');
        bool isNumber = double.TryParse(plain, NumberStyles.Float, CultureInfo.InvariantCulture, out double value);
        bool isLarge = Math.Abs(value) > LargestNumber;
        if (!isNumber || isLarge)
        {
            string shown = cell.Length > MaxShownCharacters ? cell[..MaxShownCharacters] + "…" : cell;
            throw new UnusableInputException($"{Subject} line {line}",
                $"\"{shown}\" in column {Columns[column]} {(isLarge ? "is beyond every measurement" : "is no number")}",
                digits.Contains(',') && _separator == ','
                    ? "Write numbers with a decimal point; a decimal comma needs semicolons or tabs between the cells."
                    : "Write a plain number such as 812.5, and leave a missing one empty.");
        }

        // 1,234 is one thing beside 0,5 and another beside 0.5.
        if (sign != '\0' && _decimalSign == '\0')
            _decimalSign = sign;
        if (sign != '\0' && sign != _decimalSign)
        {
            throw new UnusableInputException($"{Subject} line {line}",
                $"\"{cell}\" in column {Columns[column]} has a decimal '{sign}', and numbers before it have '{_decimalSign}'",
                "Write all numbers with the same decimal sign, and none between thousands.");
        }

        return value;
    }

    /// <summary>A number that has to be there.</summary>
    internal double Required(double value, int line, int column) => double.IsNaN(value)
        ? throw new UnusableInputException($"{Subject} line {line}", $"there is no value for {Columns[column]}", "Fill in the cell or delete the row.")
        : value;

    /// <summary>
    /// What divides the header into as many cells as the row below it; where that says nothing, what divides the header at all. Tabs and
    /// semicolons come first, because commas also stand in names and numbers.
    /// </summary>
    private char SeparatorOf()
    {
        (int at, int line) = (_at, _nextLine);
        char first = '\0';
        foreach (char separator in Separators)
        {
            (_at, _nextLine) = (at, line);
            int header = NextRecord(separator) ? _cells.Count : 0;
            int row = header > 1 && NextRecord(separator) ? _cells.Count : 0;
            (_at, _nextLine) = (at, line);
            if (header > 1 && header == row)
                return separator;
            if (header > 1 && first == '\0')
                first = separator;
        }

        return first == '\0' ? ',' : first;
    }

    private bool NextRecord() => NextRecord(_separator);

    /// <summary>Reads the next line that is neither empty nor a comment into the cells.</summary>
    private bool NextRecord(char separator)
    {
        while (_at < _text.Length)
        {
            int end = _text.AsSpan(_at).IndexOfAny('\r', '\n') is >= 0 and int length ? _at + length : _text.Length;
            ReadOnlySpan<char> line = _text.AsSpan(_at, end - _at);
            Line = _nextLine;
            if (!line.IsWhiteSpace() && line[0] != '#')
            {
                ReadCells(separator);
                return true;
            }

            _at = end;
            PassLineEnd();
        }

        return false;
    }

    private void ReadCells(char separator)
    {
        _cells.Clear();
        while (true)
        {
            string? quoted = _at < _text.Length && _text[_at] == '"' ? ReadQuoted() : null;
            int start = _at;
            while (_at < _text.Length && _text[_at] != separator && _text[_at] is not ('\r' or '\n'))
                _at++;
            string rest = _text[start.._at];
            _cells.Add(quoted is null ? rest : quoted + rest);
            if (_at >= _text.Length || _text[_at] != separator)
            {
                PassLineEnd();
                return;
            }

            _at++;
        }
    }

    private string ReadQuoted()
    {
        var cell = new StringBuilder();
        for (_at++; _at < _text.Length; _at++)
        {
            if (_text[_at] != '"')
            {
                _nextLine += _text[_at] == '\n' ? 1 : 0;
                cell.Append(_text[_at]);
            }
            else if (_at + 1 < _text.Length && _text[_at + 1] == '"')
                cell.Append(_text[_at++]);
            else
            {
                _at++;
                return cell.ToString();
            }
        }

        throw new UnusableInputException($"{Subject} line {Line}", "a quoted cell does not end",
            "Close the quotation mark, or leave quotation marks out.");
    }

    private void PassLineEnd()
    {
        if (_at < _text.Length && _text[_at] == '\r')
            _at++;
        if (_at < _text.Length && _text[_at] == '\n')
            _at++;
        _nextLine++;
    }
}
