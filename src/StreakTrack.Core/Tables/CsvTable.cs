namespace StreakTrack.Core.Tables;

/// <summary>A table of numbers as a whole, read by <see cref="CsvReader"/>; a cell is only looked at when its number is asked for.</summary>
public sealed class CsvTable
{
    /// <summary>A file larger than this is no table for a study, in bytes.</summary>
    private const long MaxBytes = 16L << 20;

    private readonly CsvReader _reader;
    private readonly List<(int Line, string[] Cells)> _rows = [];

    private CsvTable(CsvReader reader)
    {
        _reader = reader;
        while (reader.Read())
            _rows.Add((reader.Line, [.. reader.Cells]));
        if (_rows.Count == 0)
            throw new UnusableInputException(Subject, "there is a header but no row of data", "Write one row a measurement below the header.");
    }

    /// <summary>What messages call the table: its path.</summary>
    public string Subject => _reader.Subject;

    /// <summary>Names of the columns, in order, trimmed.</summary>
    public IReadOnlyList<string> Columns => _reader.Columns;

    /// <summary>Number of rows of data.</summary>
    public int RowCount => _rows.Count;

    /// <summary>Reads a file.</summary>
    /// <param name="path">The file, UTF-8.</param>
    /// <exception cref="UnusableInputException">The file is missing, unreadable, too large or no such table; the message names the
    /// line.</exception>
    public static CsvTable Read(string path) =>
        Parse(CsvReader.TextOf(path, MaxBytes, "a CSV file with one row a measurement"), path);

    /// <summary>Reads a table from its text.</summary>
    /// <param name="text">The text.</param>
    /// <param name="subject">What to call it in messages.</param>
    /// <exception cref="UnusableInputException">The text is no such table; the message names the line.</exception>
    public static CsvTable Parse(string text, string subject) => new(new CsvReader(text, subject));

    /// <inheritdoc cref="CsvReader.IndexOf"/>
    public int IndexOf(params ReadOnlySpan<string> names) => _reader.IndexOf(names);

    /// <summary>Position of a column that has to be there.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="meaning">What it holds, for the message: "the drive frequency in Hz".</param>
    /// <exception cref="UnusableInputException">There is no such column.</exception>
    public int Require(string name, string meaning) => _reader.Require(name, $"Name the column with {meaning} {name}.");

    /// <summary>What messages call a row: "table.csv line 4".</summary>
    /// <param name="row">The row, from 0.</param>
    public string NameOfRow(int row) => $"{Subject} line {_rows[row].Line}";

    /// <summary>The number in a cell.</summary>
    /// <param name="row">The row, from 0.</param>
    /// <param name="column">The column, from 0; -1 stands for a column that is not there.</param>
    /// <returns>The number, finite; NaN for an empty cell or a column that is not there.</returns>
    /// <exception cref="UnusableInputException">The cell holds something else.</exception>
    public double Number(int row, int column) =>
        column < 0 ? double.NaN : _reader.NumberIn(_rows[row].Cells[column], _rows[row].Line, column);

    /// <summary>The number in a cell that must not be empty.</summary>
    /// <param name="row">The row, from 0.</param>
    /// <param name="column">The column, from 0.</param>
    /// <exception cref="UnusableInputException">The cell is empty or holds no number.</exception>
    public double RequiredNumber(int row, int column) => _reader.Required(Number(row, column), _rows[row].Line, column);

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
}
