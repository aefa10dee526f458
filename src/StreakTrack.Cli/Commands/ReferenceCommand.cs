using System.CommandLine;
using System.Globalization;
using StreakTrack.Cli.Terminal;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.References;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Submissions;
using StreakTrack.Core.Uncertainty;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Reporting;
using StreakTrack.Reporting.References;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack reference</c>: what an instrument is known to do, from runs or from numbers.</summary>
internal sealed class ReferenceCommand
{
    private const string MarksFile = "marks.csv";

    private readonly Argument<string[]> _runs = new("RUN")
    {
        Description = "Each a record.json, a folder with a record.json, or a clip with marks.csv beside it; written SETTING=RUN where the instrument was set to a number.",
        Arity = ArgumentArity.ZeroOrMore,
    };

    private readonly Option<DirectoryInfo> _out = new("--out") { Description = "Folder for reference.json, handout.html, decay_band.csv and figures.", HelpName = "DIR", Required = true };
    private readonly Option<string> _name = new("--name") { Description = "What the instrument is called. Default: instrument.", HelpName = "TEXT", DefaultValueFactory = _ => "instrument" };
    private readonly Option<string?> _settingName = new("--setting-name") { Description = "What is set, with its unit at the end: brake_a.", HelpName = "NAME" };
    private readonly Option<double?> _tau = SettingOptions.Number("--tau", "S", "Decay time, for a reference from numbers instead of runs.", 0);
    private readonly Option<double?> _tauUncertainty = SettingOptions.Number("--tau-u", "S", "Its standard uncertainty.", 0);
    private readonly Option<double?> _tauScatter = SettingOptions.Number("--tau-scatter", "S", "Standard deviation of the decay time from run to run.", 0, allowMinimum: true);
    private readonly Option<double?> _frequency = SettingOptions.Number("--frequency", "HZ", "Undamped frequency, where the runs state none.", 0);
    private readonly Option<double?> _frequencyUncertainty = SettingOptions.Number("--frequency-u", "HZ", "Its standard uncertainty.", 0, allowMinimum: true);
    private readonly Option<bool> _json = new("--json") { Description = "Print the reference on standard output instead of the summary." };

    /// <summary>The command.</summary>
    public static Command Create(CommandStreams streams)
    {
        var self = new ReferenceCommand();
        var command = new Command("reference", "Make the reference of an instrument, to print and to hold submissions against.")
        {
            self._runs, self._out, self._name, self._settingName, self._tau, self._tauUncertainty, self._tauScatter, self._frequency, self._frequencyUncertainty, self._json,
        };
        command.SetAction((parsed, cancellationToken) => Task.Run(() => self.Run(parsed, streams, cancellationToken), cancellationToken));
        ExampleHelp.AddTo(command,
            "streaktrack reference run1 run2 run3 run4 run5 --out ref --name \"oscillator 3\"",
            "streaktrack reference 0=run1 0=run2 0.2=run3 0.2=run4 --setting-name brake_a --out ref",
            "streaktrack reference --tau 2.40 --tau-u 0.02 --tau-scatter 0.03 --frequency 38.9 --out ref",
            "streaktrack verify submission.zip --reference ref");
        return command;
    }

    private int Run(ParseResult parsed, CommandStreams streams, CancellationToken cancellationToken)
    {
        string[] runs = parsed.GetValue(_runs) ?? [];
        if (runs.Length == 0 == parsed.GetValue(_tau) is null)
            throw new UsageException(runs.Length == 0 ? "Name runs, or give a decay time with --tau." : "A reference is made of runs or of --tau: give one of them.");
        if (parsed.GetValue(_tau) is null && (parsed.GetValue(_tauUncertainty) ?? parsed.GetValue(_tauScatter)) is not null)
            throw new UsageException("--tau-u and --tau-scatter belong to --tau.");
        if (parsed.GetValue(_frequency) is null && parsed.GetValue(_frequencyUncertainty) is not null)
            throw new UsageException("--frequency-u belongs to --frequency.");
        if (parsed.GetValue(_tau) is not null && parsed.GetValue(_settingName) is not null)
            throw new UsageException("--setting-name belongs to runs at several settings; a reference from --tau has one.");

        string name = parsed.GetRequiredValue(_name).Trim(), place = parsed.GetRequiredValue(_out).FullName;
        ProgramRecord program = ClipAnalyzer.ProgramOf(null);
        UncertainValue? frequency = parsed.GetValue(_frequency) is double hz ? new UncertainValue(hz, parsed.GetValue(_frequencyUncertainty) ?? 0) : null;
        InstrumentReference reference;
        if (parsed.GetValue(_tau) is double tau)
        {
            double u = parsed.GetValue(_tauUncertainty) ?? throw new UsageException("--tau needs its standard uncertainty: --tau-u.");
            reference = ReferenceBuilder.FromParameters(new ReferenceParameters(new UncertainValue(tau, u), parsed.GetValue(_tauScatter), frequency), name, program);
        }
        else
        {
            using var progress = new ProgressLine(streams);
            reference = ReferenceBuilder.FromRuns([.. runs.Select(r => RunOf(r, frequency, progress, cancellationToken))], name, parsed.GetValue(_settingName), program);
        }

        ReferenceFolder.Write(reference, place);
        if (parsed.GetValue(_json))
            streams.Output.Write(ReferenceJson.Write(reference));
        else
            Print(reference, place, streams.Output);
        return ExitCode.Done;
    }

    private static ReferenceRun RunOf(string argument, UncertainValue? frequency, ProgressLine progress, CancellationToken cancellationToken)
    {
        string path = argument;
        double? setting = null;
        int sign = argument.IndexOf('=', StringComparison.Ordinal);
        if (sign > 0 && double.TryParse(argument[..sign], NumberStyles.Float, CultureInfo.InvariantCulture, out double number) && double.IsFinite(number) && !Path.Exists(argument))
            (setting, path) = (number, argument[(sign + 1)..]);
        return ReferenceBuilder.RunOf(RecordOf(path, frequency, progress, cancellationToken), setting, path, frequency);
    }

    private static AnalysisRecord RecordOf(string path, UncertainValue? frequency, ProgressLine progress, CancellationToken cancellationToken)
    {
        if (Path.GetExtension(path) == ".json")
            return RecordJson.Read(path);
        string? clip = path;
        if (Directory.Exists(path))
        {
            string own = Path.Combine(path, ReportFolder.RecordFile);
            if (File.Exists(own))
                return RecordJson.Read(own);
            SubmissionFiles files = FilesOf(path);
            if (files.RecordPath is not null)
                return RecordJson.Read(files.RecordPath);
            clip = files.ClipPath ?? throw new UnusableInputException(path, "there is neither a record.json nor a clip in the folder", "Name the result of an analysis, or a clip with marks.csv beside it.");
        }

        if (!File.Exists(clip))
            throw new UnusableInputException(path, "there is no such file or folder", "Name a record.json, a folder with one, or a clip with marks.csv beside it.");
        string marks = Path.Combine(Path.GetDirectoryName(Path.GetFullPath(clip))!, MarksFile);
        if (!File.Exists(marks))
            throw new UnusableInputException(clip, $"there is no {MarksFile} beside the clip", "Put the clip's marks there, or analyse it first and name its record.json.");
        var options = new AnalysisOptions { FrequencyHz = frequency?.Value, FrequencyUncertaintyHz = frequency?.StandardUncertainty ?? 0 };
        return ClipAnalyzer.Analyze(clip, MarksCsv.Read(marks), options, progress, cancellationToken).Record;
    }

    private static SubmissionFiles FilesOf(string folder)
    {
        try
        {
            return SubmissionFiles.Open(folder, folder);
        }
        catch (SubmissionRefusedException e)
        {
            throw new UnusableInputException(folder, e.Message, $"Take it out of the folder, or name the {ReportFolder.RecordFile} itself.", e);
        }
    }

    private static void Print(InstrumentReference reference, string place, TextWriter output)
    {
        foreach (ReferenceSetting s in reference.Settings)
        {
            string at = s.Setting is double setting ? string.Create(CultureInfo.InvariantCulture, $", {reference.SettingName} {setting:0.######}") : "";
            output.WriteLine($"{reference.Name}{at}: tau {Show(s.TauS, "s")}{(s.Runs > 0 ? $" from {s.Runs} run{(s.Runs == 1 ? "" : "s")}" : "")}");
            output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  a further run is expected from {s.ToleranceTauS[0]:0.####} to {s.ToleranceTauS[1]:0.####} s (95 %)"));
            if (s.BetweenRunDeviationS is double between)
                output.WriteLine($"  standard deviation between runs {Notation.Number(between, 2)} s");
            if (s.Quantities.TryGetValue("q", out QuantityRecord? q))
                output.WriteLine($"  Q {Show(q, "")}");
        }

        foreach (Finding finding in reference.Findings)
            output.WriteLine($"{finding.Severity.ToString().ToLowerInvariant()} {finding.Code}: {finding.Message}");
        output.WriteLine("reference: " + Path.Combine(place, ReferenceJson.FileName));
        output.WriteLine("hand-out:  " + Path.Combine(place, ReferenceFolder.HandoutFile));
    }

    private static string Show(QuantityRecord quantity, string unit) => Notation.Concise(new UncertainValue(quantity.Value, quantity.StandardUncertainty ?? double.NaN), unit);
}
