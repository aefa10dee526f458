using System.Globalization;
using StreakTrack.Core.Tables;

namespace StreakTrack.Core.Studies;

/// <summary>The table of a series of photographs: at which drive frequency each was taken.</summary>
public static class PhotoTable
{
    private const long LargestFileBytes = 1_000_000;

    /// <summary>Most rows: more than anybody photographs point by point.</summary>
    public const int MostPhotos = 1000;

    /// <summary>Reads a table with the columns <c>photo</c> (a file name without a folder) and <c>frequency_hz</c>; further columns are
    /// ignored.</summary>
    /// <param name="path">The CSV file.</param>
    /// <returns>The rows, in order.</returns>
    /// <exception cref="UnusableInputException">A column is missing, a name is empty or there twice, a frequency is no positive number; the
    /// message names the line.</exception>
    public static IReadOnlyList<PhotoTableRow> Read(string path) =>
        Parse(CsvReader.TextOf(path, LargestFileBytes, "a CSV file with the columns photo and frequency_hz"), path);

    /// <summary>The rows of a text.</summary>
    /// <param name="text">The table.</param>
    /// <param name="subject">What messages call it.</param>
    /// <inheritdoc cref="Read"/>
    public static IReadOnlyList<PhotoTableRow> Parse(string text, string subject)
    {
        var csv = new CsvReader(text, subject);
        int photo = csv.Require("photo", "Name the column with the photographs' file names photo.");
        int frequency = csv.Require("frequency_hz", "Name the column with the drive frequency in Hz frequency_hz.");
        var rows = new List<PhotoTableRow>();
        var names = new HashSet<string>(StringComparer.Ordinal);
        while (csv.Read())
        {
            string line = $"{subject} line {csv.Line}", name = csv.Cells[photo].Trim();
            if (rows.Count == MostPhotos)
                throw new UnusableInputException(subject, $"it has more than {MostPhotos} rows", "Split the series.");
            if (name.Length == 0 || name.AsSpan().ContainsAny('/', '\\') || name is "." or ".." || name.Any(char.IsControl))
                throw new UnusableInputException(line, "the photograph is not a plain file name", "Give the name alone, such as p01.jpg, without a folder.");
            if (!names.Add(name))
                throw new UnusableInputException(line, $"{name} is there twice", "List every photograph once.");
            double hz = csv.RequiredNumber(frequency);
            if (!(hz is > 0 and < 1e6))
            {
                throw new UnusableInputException(line, string.Create(CultureInfo.InvariantCulture, $"the drive frequency is {hz} Hz"),
                    "Give a positive frequency in Hz.");
            }

            rows.Add(new PhotoTableRow(name, hz, csv.Line));
        }

        return rows.Count > 0
            ? rows
            : throw new UnusableInputException(subject, "there is a header but no row of data", "Write one row a photograph below the header.");
    }
}
