using System.CommandLine;
using StreakTrack.Cli.Terminal;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Photos;
using StreakTrack.Reporting;
using StreakTrack.Reporting.Contact;
using StreakTrack.Reporting.Photos;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack photos</c>: from photographs and their marks to a table of amplitudes and a report.</summary>
internal sealed class PhotosCommand
{
    private readonly Argument<FileSystemInfo[]> _photos = new("PHOTO")
    {
        Description = "Photographs (JPEG, PNG), or a folder of them, which is a series in the order of its names.",
        HelpName = "FOLDER|PHOTO…",
        Arity = ArgumentArity.OneOrMore,
    };

    private readonly Option<FileInfo?> _marks = new("--marks")
    {
        Description = "Ruler marks in the first photograph: a CSV file with the columns u_px, v_px, reading_mm (picture upright; top left pixel centre is 0, 0).",
        HelpName = "MARKS.csv",
    };

    private readonly Option<FileInfo?> _table = new("--table")
    {
        Description = "Drive frequency of each photograph, and their order: a CSV file with the columns photo (file name) and frequency_hz.",
        HelpName = "TABLE.csv",
    };

    private readonly Option<DirectoryInfo> _out = new("--out")
    {
        Description = "Folder for photos.csv, resonance.csv, record.json, datapackage.json, report.html and figures.",
        HelpName = "DIR",
        Required = true,
    };

    private readonly Option<FileInfo?> _record = new("--record")
    {
        Description = "Repeat an analysis: take marks, order, frequencies and settings from this record. Options given beside it win.",
        HelpName = "RECORD.json",
    };

    private readonly SettingOptions _settings = new();
    private readonly Option<bool> _json = new("--json") { Description = "Print the record on standard output instead of the summary." };

    /// <summary>The command.</summary>
    public static Command Create(CommandStreams streams)
    {
        var self = new PhotosCommand();
        var command = new Command("photos", "Measure the streak in photographs: a resonance curve, point by point.")
        {
            self._photos, self._marks, self._table, self._out, self._record,
        };
        self._settings.AddPhotoOptionsTo(command);
        command.Options.Add(self._json);
        command.SetAction((parsed, cancellationToken) => Task.Run(() => self.Run(parsed, streams, cancellationToken), cancellationToken));
        ExampleHelp.AddTo(command,
            "streaktrack photos curve --marks marks.csv --table drive.csv --out result",
            "streaktrack resonance result/resonance.csv --out study",
            "streaktrack photos p1.jpg p2.jpg p3.jpg --marks marks.csv --frequency 38.9 --out result",
            "streaktrack photos curve --record result/record.json --out again");
        return command;
    }

    private int Run(ParseResult parsed, CommandStreams streams, CancellationToken cancellationToken)
    {
        string folder = parsed.GetRequiredValue(_out).FullName;
        AnalysisRecord? earlier = parsed.GetValue(_record) is FileInfo file ? RecordJson.Read(file.FullName) : null;
        if (earlier is { Photos.Count: 0 })
            throw new UsageException("The record of '--record' is not that of photographs.");
        AnalysisOptions options = _settings.Read(parsed, earlier?.Options ?? new AnalysisOptions());
        IReadOnlyList<RulerMark> marks = GivenMarks.Of(parsed.GetValue(_marks), earlier);
        var findings = new List<Finding>();
        IReadOnlyList<PhotoInput> inputs = PhotoList.Of(
            [.. parsed.GetRequiredValue(_photos).Select(p => p.ToString())], parsed.GetValue(_table)?.FullName, earlier, findings);

        PhotoAnalysis analysis;
        using (var progress = new ProgressLine(streams))
            analysis = PhotoAnalyzer.Analyze(inputs, marks, options, progress, cancellationToken);
        AnalysisRecord record = analysis.Record with
        {
            Result = analysis.Record.Result with { Findings = ResultRecords.Ordered([.. findings, .. analysis.Record.Result.Findings]) },
        };
        cancellationToken.ThrowIfCancellationRequested();
        PhotoFolder.Write(
            new PhotoContent(record, analysis.Series,
                [.. analysis.Pictures.Select(p => new ContactPicture(analysis.Readings[p.Frame], p.Picture, p.DisplayToPicture))]),
            folder);

        if (parsed.GetValue(_json))
            streams.Output.Write(RecordJson.Write(record));
        else
            Summary.WritePhotos(record, Path.Combine(folder, ReportFolder.ReportFile), streams.Output);
        if (record.Result.Photos.Any(p => p.Usable))
            return ExitCode.Done;
        Finding? reason = record.Result.Findings.FirstOrDefault(f => f.Code != FindingKinds.ExposureUnknown.Code);
        throw new UnusableInputException("the photographs",
            reason is null ? "none shows a streak that can be used" : "none shows a streak that can be used: " + reason.Message.TrimEnd('.'),
            reason?.Advice ?? "See the findings in the report.");
    }
}
