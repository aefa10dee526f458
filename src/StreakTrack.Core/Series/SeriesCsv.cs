using System.Globalization;
using System.Text;
using StreakTrack.Core.Tables;

namespace StreakTrack.Core.Series;

/// <summary>Writes a series as CSV and reads one back, or one made elsewhere.</summary>
/// <remarks>
/// RFC 4180: comma, CRLF, UTF-8. Numbers have a decimal point and as many digits as they need to be read back unchanged; a missing number
/// is an empty cell; flags are joined by <c>;</c>. Reading also takes what <see cref="CsvReader"/> takes beside RFC 4180.
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
    public static AmplitudeSeries Read(string path, SeriesCsvOptions? options = null) =>
        Parse(CsvReader.TextOf(path, MaxBytes, "a CSV file of times and amplitudes with one row a frame"), path, options);

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
        RequireFactor(options.MilliradiansPerUnit, nameof(options.MilliradiansPerUnit));

        var rows = new RowReader(new CsvReader(text, subject), options);
        var samples = new List<AmplitudeSample>();
        while (rows.Read(samples.Count) is AmplitudeSample sample)
            samples.Add(sample);
        return samples.Count > 0
            ? new AmplitudeSeries(samples)
            : throw new UnusableInputException(subject, "there is a header but no row of data", "Name a CSV file with one row a frame.");
    }

    private static void RequireFactor(double factor, string name)
    {
        if (!(factor > 0 && double.IsFinite(factor)))
            throw new ArgumentOutOfRangeException(name, factor, "A unit factor must be finite and positive.");
    }

    private static string Cell(double value) => double.IsFinite(value) ? value.ToString("R", CultureInfo.InvariantCulture) : "";

    private static string FlagsCell(FrameFlags flags) =>
        flags == FrameFlags.None ? "" : flags.ToString().Replace(", ", FlagSeparator.ToString(), StringComparison.Ordinal);

    /// <summary>Where the columns of one file are, and how its rows become samples.</summary>
    private sealed class RowReader
    {
        private readonly CsvReader _csv;
        private readonly SeriesCsvOptions _options;
        private readonly HashSet<int> _frames = [];
        private readonly int _time, _amplitude, _uncertainty, _left, _right, _threshold, _mrad, _brightness, _frame, _flags;

        public RowReader(CsvReader csv, SeriesCsvOptions options)
        {
            _csv = csv;
            _options = options;
            const string remedy = "Say which columns hold the time and the amplitude (--time-column, --amplitude-column).";
            _time = csv.Require(options.TimeColumn, remedy);
            _amplitude = csv.Require(options.AmplitudeColumn, remedy);
            _uncertainty = csv.IndexOf(options.UncertaintyColumn);
            _left = csv.IndexOf("left_mm");
            _right = csv.IndexOf("right_mm");
            _threshold = csv.IndexOf("threshold_amplitude_mm");
            _mrad = csv.IndexOf("amplitude_mrad");
            _brightness = csv.IndexOf("brightness");
            _frame = csv.IndexOf("frame");
            _flags = csv.IndexOf("flags");
        }

        /// <summary>The next sample; null at the end.</summary>
        /// <param name="rowIndex">The row, from 0: the frame where the file has no column of frames.</param>
        public AmplitudeSample? Read(int rowIndex)
        {
            if (!_csv.Read())
                return null;
            double uncertainty = _csv.Number(_uncertainty);
            if (uncertainty < 0)
                throw Refused("the standard uncertainty is negative", "Leave the cell empty where the uncertainty is not known.");
            int frame = FrameNumber(rowIndex);
            if (!_frames.Add(frame))
                throw Refused($"frame {frame} is there twice", "Give every row a frame number of its own, or leave the column out.");

            (double mm, double mmPerUnit) = _options.OnRuler(_csv.Number(_amplitude));
            return new AmplitudeSample
            {
                Frame = frame,
                TimeSeconds = _csv.RequiredNumber(_time) * _options.SecondsPerUnit,
                AmplitudeMm = mm,
                AmplitudeUncertaintyMm = uncertainty * mmPerUnit,
                LeftMm = _csv.Number(_left),
                RightMm = _csv.Number(_right),
                ThresholdAmplitudeMm = _csv.Number(_threshold),
                AmplitudeMrad = _csv.Number(_mrad),
                Brightness = _csv.Number(_brightness),
                Flags = Flags(),
            };
        }

        private int FrameNumber(int rowIndex)
        {
            if (_frame < 0)
                return rowIndex;
            return int.TryParse(_csv.Cells[_frame], NumberStyles.AllowLeadingWhite | NumberStyles.AllowTrailingWhite,
                CultureInfo.InvariantCulture, out int frame)
                ? frame
                : throw Refused($"\"{_csv.Cells[_frame]}\" is no frame number", "Number the frames 0, 1, 2, … or leave the column out.");
        }

        private FrameFlags Flags()
        {
            FrameFlags flags = FrameFlags.None;
            const StringSplitOptions clean = StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries;
            foreach (string name in _flags < 0 ? [] : _csv.Cells[_flags].Split(FlagSeparator, clean))
            {
                if (!Enum.TryParse(name, out FrameFlags flag) || !Enum.IsDefined(flag))
                {
                    throw Refused($"\"{name}\" is no flag",
                        $"Flags are {string.Join(", ", Enum.GetNames<FrameFlags>())}, joined by \"{FlagSeparator}\".");
                }

                flags |= flag;
            }

            return flags;
        }

        private UnusableInputException Refused(string problem, string nextStep) =>
            new($"{_csv.Subject} line {_csv.Line}", problem, nextStep);
    }
}
