using System.CommandLine;
using System.Security.Cryptography;
using StreakTrack.Cli.Terminal;
using StreakTrack.Core;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Reporting;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack fit</c>: fits any series of amplitudes, ours or made elsewhere.</summary>
internal sealed class FitCommand
{
    private static readonly Dictionary<string, double> SecondsPerUnit = new() { ["s"] = 1, ["ms"] = 1e-3, ["min"] = 60 };
    private static readonly Dictionary<string, double> MillimetresPerUnit = new() { ["mm"] = 1, ["cm"] = 10, ["m"] = 1000, ["um"] = 1e-3 };
    private static readonly Dictionary<string, double> MilliradiansPerUnit = new() { ["mrad"] = 1, ["rad"] = 1000, ["deg"] = 1000 * Math.PI / 180 };
    private const string Pixels = "px";

    private readonly Argument<FileInfo> _series = new("SERIES.csv")
    {
        Description = "The series: a CSV file with at least the columns time_s and amplitude_mm, and amplitude_u_mm where known; other names "
            + "and units by the options. Semicolons or tabs between the cells, then also a decimal comma, and lines of comment after # are read too.",
    };

    private readonly Option<DirectoryInfo> _out = new("--out")
    {
        Description = "Folder for record.json, series.csv, datapackage.json, report.html and figures.",
        HelpName = "DIR",
        Required = true,
    };

    private readonly Option<string> _timeColumn = Column("--time-column", "time_s", "Name of the column of times.");
    private readonly Option<string> _amplitudeColumn = Column("--amplitude-column", "amplitude_mm", "Name of the column of amplitudes.");
    private readonly Option<string> _uncertaintyColumn = Column("--uncertainty-column", "amplitude_u_mm", "Name of the column of standard uncertainties.");
    private readonly Option<string> _timeUnit = Unit("--time-unit", "s", SecondsPerUnit.Keys, "Unit of the times.");
    private readonly Option<string> _amplitudeUnit = Unit("--amplitude-unit", "mm", [.. MillimetresPerUnit.Keys, Pixels, .. MilliradiansPerUnit.Keys],
        "Unit of amplitudes and uncertainties; px needs --mm-per-px, and an angle of the mirror needs --distance.");

    private readonly Option<double?> _mmPerPixel = SettingOptions.Number("--mm-per-px", "MM", "Length on the ruler of one pixel.", 0);
    private readonly SettingOptions _settings = new();
    private readonly Option<bool> _json = new("--json") { Description = "Print the record on standard output instead of the summary." };

    /// <summary>The command.</summary>
    public static Command Create(CommandStreams streams)
    {
        var self = new FitCommand();
        var command = new Command("fit", "Fit the envelope of a series of amplitudes and write a report.")
        {
            self._series, self._out, self._timeColumn, self._timeUnit, self._amplitudeColumn, self._uncertaintyColumn, self._amplitudeUnit,
            self._mmPerPixel,
        };
        self._settings.AddFitOptionsTo(command);
        command.Options.Add(self._json);
        command.SetAction((parsed, cancellationToken) => Task.Run(() => self.Run(parsed, streams, cancellationToken), cancellationToken));
        ExampleHelp.AddTo(command,
            "streaktrack fit result/series.csv --out again --model decay --from 2.5",
            "streaktrack fit swing.csv --out result --time-column t --time-unit ms --amplitude-column x --amplitude-unit cm",
            "streaktrack fit angle.csv --out result --amplitude-column angle --amplitude-unit rad --distance 1500");
        return command;
    }

    private int Run(ParseResult parsed, CommandStreams streams, CancellationToken cancellationToken)
    {
        FileInfo file = parsed.GetRequiredValue(_series);
        string folder = parsed.GetRequiredValue(_out).FullName;
        AnalysisOptions options = _settings.Read(parsed, new AnalysisOptions());
        var columns = new SeriesColumnsRecord(
            parsed.GetRequiredValue(_timeColumn), parsed.GetRequiredValue(_timeUnit), parsed.GetRequiredValue(_amplitudeColumn),
            parsed.GetRequiredValue(_uncertaintyColumn), parsed.GetRequiredValue(_amplitudeUnit), parsed.GetValue(_mmPerPixel));
        AmplitudeSeries series = SeriesCsv.Read(file.FullName, OptionsOf(columns, options));

        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(
            series, options, new LengthAccuracy { OffsetUncertaintyMm = options.OffsetUncertaintyMm ?? 0 }, cancellationToken);
        using FileStream stream = file.OpenRead();
        var record = new AnalysisRecord
        {
            RecordVersion = AnalysisRecord.CurrentVersion,
            Program = ClipAnalyzer.ProgramOf(null),
            SeriesFile = new SeriesFileRecord(file.Name, Convert.ToHexStringLower(SHA256.HashData(stream)), series.Count) { Columns = columns },
            Options = options,
            Result = new ResultRecord
            {
                Series = ResultRecords.Of(series),
                Fit = ResultRecords.FitOf(analysis),
                Sweep = ResultRecords.SweepOf(analysis),
                Robustness = ResultRecords.RobustnessOf(analysis),
                Budgets = ResultRecords.BudgetsOf(analysis),
                Oscillator = ResultRecords.OscillatorOf(analysis),
                Findings = ResultRecords.Ordered(analysis.Findings),
            },
        };
        AnalysisReport.Write(record, series, analysis, [], folder);
        if (parsed.GetValue(_json))
            streams.Output.Write(RecordJson.Write(record));
        else
            Summary.Write(record, Path.Combine(folder, ReportFolder.ReportFile), streams.Output);
        return AnalysisReport.ExitCodeOf(record, file.Name);
    }

    private static SeriesCsvOptions OptionsOf(SeriesColumnsRecord columns, AnalysisOptions options)
    {
        string unit = columns.AmplitudeUnit;
        var read = new SeriesCsvOptions
        {
            TimeColumn = columns.Time,
            AmplitudeColumn = columns.Amplitude,
            UncertaintyColumn = columns.Uncertainty,
            SecondsPerUnit = SecondsPerUnit[columns.TimeUnit],
        };
        if (columns.MmPerPx is not null && unit != Pixels)
            throw new UsageException($"--mm-per-px needs --amplitude-unit {Pixels}.");
        if (MilliradiansPerUnit.TryGetValue(unit, out double milliradians))
        {
            double distance = options.DistanceMm ?? throw new UsageException($"--amplitude-unit {unit} needs --distance, from mirror to ruler.");
            return read with { MilliradiansPerUnit = milliradians, Lever = new OpticalLever(new UncertainValue(distance, 0)) };
        }

        return read with
        {
            MillimetresPerUnit = unit == Pixels
                ? columns.MmPerPx ?? throw new UsageException($"--amplitude-unit {Pixels} needs --mm-per-px; the decay time does not depend on it.")
                : MillimetresPerUnit[unit],
        };
    }

    private static Option<string> Column(string name, string standard, string description) =>
        new(name) { Description = $"{description} Default: {standard}.", HelpName = "NAME", DefaultValueFactory = _ => standard };

    private static Option<string> Unit(string name, string standard, IEnumerable<string> units, string description)
    {
        var option = new Option<string>(name)
        {
            Description = $"{description} Default: {standard}.",
            HelpName = string.Join('|', units),
            DefaultValueFactory = _ => standard,
        };
        option.AcceptOnlyFromAmong([.. units]);
        return option;
    }
}
