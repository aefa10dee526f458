using System.Globalization;
using System.Text;

namespace StreakTrack.Core.Series;

/// <summary>Writes a series as CSV and reads one back, or one made elsewhere.</summary>
/// <remarks>
/// RFC 4180: comma, CRLF, UTF-8. Numbers have a decimal point and as many digits as they need to be read back unchanged; a missing number
/// is an empty cell; flags are joined by <c>;</c>. Reading also takes semicolons or tabs between cells, line feeds alone, and lines that
/// begin with <c>#</c> as comments.
/// </remarks>
public static class SeriesCsv
{
    /// <summary>The columns of our own files, in order.</summary>
    public static IReadOnlyList<string> Columns { get; } =
    [
        "frame", "time_s", "left_mm", "right_mm", "length_mm", "amplitude_mm", "amplitude_u_mm", "threshold_amplitude_mm", "amplitude_mrad",
        "brightness", "flags",
    ];

    /// <summary>A file larger than this is not read, in bytes; it would hold some millions of frames.</summary>
    private const long MaxBytes = 512L << 20;

    /// <summary>No time and no length of an experiment is larger, in whatever unit; sums of squares of such numbers stay finite.</summary>
    private const double LargestNumber = 1e15;

    private const char FlagSeparator = ';';

    /// <summary>The series as CSV text.</summary>
    /// <param name="series">The series.</param>
    public static string Write(AmplitudeSeries series)
    {
        ArgumentNullException.ThrowIfNull(series);
        var text = new StringBuilder();
        text.AppendJoin(',', Columns).Append("\r\n");
        foreach (AmplitudeSample sample in series)
        {
            text.Append(sample.Frame.ToString(CultureInfo.InvariantCulture)).Append(',')
                .Append(Cell(sample.TimeSeconds)).Append(',')
                .Append(Cell(sample.LeftMm)).Append(',')
                .Append(Cell(sample.RightMm)).Append(',')
                .Append(Cell(sample.LengthMm)).Append(',')
                .Append(Cell(sample.AmplitudeMm)).Append(',')
                .Append(Cell(sample.AmplitudeUncertaintyMm)).Append(',')
                .Append(Cell(sample.ThresholdAmplitudeMm)).Append(',')
                .Append(Cell(sample.AmplitudeMrad)).Append(',')
                .Append(Cell(sample.Brightness)).Append(',')
                .Append(FlagsCell(sample.Flags)).Append("\r\n");
        }

        return text.ToString();
    }

    /// <summary>Reads a series file, ours or made elsewhere.</summary>
    /// <param name="path">The file.</param>
    /// <param name="options">Names and units of the columns; null for our own.</param>
    /// <exception cref="UnusableInputException">
    /// The file is missing, too large, or not such a table; the message names the line.
    /// </exception>
    public static AmplitudeSeries Read(string path, SeriesCsvOptions? options = null)
    {
        var file = new FileInfo(path);
        if (!file.Exists)
            throw new UnusableInputException(path, "there is no such file", "Name a CSV file with the columns time_s and amplitude_mm.");
        if (file.Length > MaxBytes)
            throw new UnusableInputException(path, "the file is too large for a series", "Name a CSV file with one row a frame.");
        return Parse(File.ReadAllText(path), path, options);
    }

    /// <summary>Reads a series from its text.</summary>
    /// <param name="text">The text of the file.</param>
    /// <param name="subject">What to call it in messages.</param>
    /// <param name="options">Names and units of the columns; null for our own.</param>
    /// <exception cref="UnusableInputException">The text is not such a table; the message names the line.</exception>
    /// <exception cref="ArgumentOutOfRangeException">A unit factor is not finite and positive.</exception>
    public static AmplitudeSeries Parse(string text, string subject, SeriesCsvOptions? options = null)
    {
        options ??= new SeriesCsvOptions();
        RequireFactor(options.SecondsPerUnit, nameof(options.SecondsPerUnit));
        RequireFactor(options.MillimetresPerUnit, nameof(options.MillimetresPerUnit));

        Table? table = null;
        var samples = new List<AmplitudeSample>();
        var frames = new HashSet<int>();
        int lineNumber = 0;
        foreach (ReadOnlySpan<char> rawLine in text.AsSpan().EnumerateLines())
        {
            lineNumber++;
            ReadOnlySpan<char> line = rawLine.TrimStart('\uFEFF');
            if (line.IsWhiteSpace() || line[0] == '#')
                continue;
            if (table is null)
            {
                table = Table.FromHeader(line, lineNumber, subject, options);
                continue;
            }

            AmplitudeSample sample = table.ReadRow(line, lineNumber, samples.Count);
            if (!frames.Add(sample.Frame))
            {
                throw new UnusableInputException($"{subject} line {lineNumber}", $"frame {sample.Frame} is there twice",
                    "Give every row a frame number of its own, or leave the column out.");
            }

            samples.Add(sample);
        }

        if (table is null)
            throw new UnusableInputException(subject, "the file is empty", "Name a CSV file with the columns time_s and amplitude_mm.");
        if (samples.Count == 0)
            throw new UnusableInputException(subject, "there is a header but no row of data", "Name a CSV file with one row a frame.");
        return new AmplitudeSeries(samples);
    }

    private static void RequireFactor(double factor, string name)
    {
        if (!(factor > 0 && double.IsFinite(factor)))
            throw new ArgumentOutOfRangeException(name, factor, "A unit factor must be finite and positive.");
    }

    private static string Cell(double value) => double.IsFinite(value) ? value.ToString("R", CultureInfo.InvariantCulture) : "";

    private static string FlagsCell(FrameFlags flags) =>
        flags == FrameFlags.None ? "" : flags.ToString().Replace(", ", FlagSeparator.ToString(), StringComparison.Ordinal);

    /// <summary>Where the columns of one file are, and how its rows are read.</summary>
    private sealed class Table
    {
        private readonly string _subject;
        private readonly SeriesCsvOptions _options;
        private readonly char _separator;
        private readonly string[] _names;
        private readonly int _time;
        private readonly int _amplitude;
        private readonly List<string> _cells = [];

        private Table(string subject, SeriesCsvOptions options, char separator, string[] names, int time, int amplitude)
        {
            _subject = subject;
            _options = options;
            _separator = separator;
            _names = names;
            _time = time;
            _amplitude = amplitude;
        }

        public static Table FromHeader(ReadOnlySpan<char> line, int lineNumber, string subject, SeriesCsvOptions options)
        {
            char separator = line.Contains(',') ? ',' : line.Contains('\t') ? '\t' : line.Contains(';') ? ';' : ',';
            var cells = new List<string>();
            Split(line, separator, cells, lineNumber, subject);
            string[] names = [.. cells.Select(cell => cell.Trim())];
            return new Table(subject, options, separator, names, Require(options.TimeColumn), Require(options.AmplitudeColumn));

            int Require(string name)
            {
                int index = Array.IndexOf(names, name);
                if (index < 0)
                {
                    throw new UnusableInputException($"{subject} line {lineNumber}",
                        $"there is no column {name}; the columns are {string.Join(", ", names)}",
                        "Name the columns that hold the time and the amplitude.");
                }

                if (Array.IndexOf(names, name, index + 1) >= 0)
                {
                    throw new UnusableInputException($"{subject} line {lineNumber}", $"the column {name} is there twice",
                        "Give every column a name of its own.");
                }

                return index;
            }
        }

        public AmplitudeSample ReadRow(ReadOnlySpan<char> line, int lineNumber, int rowIndex)
        {
            Split(line, _separator, _cells, lineNumber, _subject);
            if (_cells.Count != _names.Length)
            {
                throw new UnusableInputException($"{_subject} line {lineNumber}",
                    $"the row has {_cells.Count} cells and the header has {_names.Length}",
                    "Check for a decimal comma: numbers need a decimal point.");
            }

            double time = Number(_time, lineNumber) * _options.SecondsPerUnit;
            if (double.IsNaN(time))
                throw new UnusableInputException($"{_subject} line {lineNumber}", "the row has no time", "Give every row a time.");
            double millimetres = _options.MillimetresPerUnit;
            double uncertainty = Optional(_options.UncertaintyColumn) * millimetres;
            if (uncertainty < 0)
            {
                throw new UnusableInputException($"{_subject} line {lineNumber}", "the standard uncertainty is negative",
                    "Leave the cell empty where the uncertainty is not known.");
            }

            return new AmplitudeSample
            {
                Frame = FrameNumber(rowIndex, lineNumber),
                TimeSeconds = time,
                AmplitudeMm = Number(_amplitude, lineNumber) * millimetres,
                AmplitudeUncertaintyMm = uncertainty,
                LeftMm = Optional("left_mm"),
                RightMm = Optional("right_mm"),
                ThresholdAmplitudeMm = Optional("threshold_amplitude_mm"),
                AmplitudeMrad = Optional("amplitude_mrad"),
                Brightness = Optional("brightness"),
                Flags = Flags(lineNumber),
            };

            double Optional(string name)
            {
                int index = Array.IndexOf(_names, name);
                return index < 0 ? double.NaN : Number(index, lineNumber);
            }
        }

        private int FrameNumber(int rowIndex, int lineNumber)
        {
            int index = Array.IndexOf(_names, "frame");
            if (index < 0)
                return rowIndex;
            if (int.TryParse(_cells[index], NumberStyles.AllowLeadingWhite | NumberStyles.AllowTrailingWhite, CultureInfo.InvariantCulture,
                    out int frame))
            {
                return frame;
            }

            throw new UnusableInputException($"{_subject} line {lineNumber}", $"\"{_cells[index]}\" is no frame number",
                "Number the frames 0, 1, 2, … or leave the column out.");
        }

        private FrameFlags Flags(int lineNumber)
        {
            int index = Array.IndexOf(_names, "flags");
            if (index < 0)
                return FrameFlags.None;
            FrameFlags flags = FrameFlags.None;
            const StringSplitOptions clean = StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries;
            foreach (string name in _cells[index].Split(FlagSeparator, clean))
            {
                if (!Enum.TryParse(name, out FrameFlags flag) || !Enum.IsDefined(flag))
                {
                    throw new UnusableInputException($"{_subject} line {lineNumber}", $"\"{name}\" is no flag",
                        $"Flags are {string.Join(", ", Enum.GetNames<FrameFlags>())}, joined by \"{FlagSeparator}\".");
                }

                flags |= flag;
            }

            return flags;
        }

        private double Number(int index, int lineNumber)
        {
            string cell = _cells[index];
            if (string.IsNullOrWhiteSpace(cell))
                return double.NaN;
            bool isNumber = double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out double value);
            if (Math.Abs(value) > LargestNumber)
            {
                throw new UnusableInputException($"{_subject} line {lineNumber}",
                    $"\"{cell}\" in column {_names[index]} is beyond every measurement", "Correct the number, or leave the cell empty.");
            }

            if (!isNumber)
            {
                throw new UnusableInputException($"{_subject} line {lineNumber}", $"\"{cell}\" in column {_names[index]} is no number",
                    "Write numbers with a decimal point, and leave a missing one empty.");
            }

            return value;
        }

        private static void Split(ReadOnlySpan<char> line, char separator, List<string> cells, int lineNumber, string subject)
        {
            cells.Clear();
            var cell = new StringBuilder();
            int i = 0;
            while (true)
            {
                cell.Clear();
                if (i < line.Length && line[i] == '"')
                {
                    i++;
                    while (true)
                    {
                        if (i >= line.Length)
                        {
                            throw new UnusableInputException($"{subject} line {lineNumber}", "a quoted cell does not end",
                                "Close the quotation mark on the same line.");
                        }

                        if (line[i] != '"')
                            cell.Append(line[i++]);
                        else if (i + 1 < line.Length && line[i + 1] == '"')
                        {
                            cell.Append('"');
                            i += 2;
                        }
                        else
                        {
                            i++;
                            break;
                        }
                    }
                }

                while (i < line.Length && line[i] != separator)
                    cell.Append(line[i++]);
                cells.Add(cell.ToString());
                if (i >= line.Length)
                    return;
                i++;
            }
        }
    }
}
