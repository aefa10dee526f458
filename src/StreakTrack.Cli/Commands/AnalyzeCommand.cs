using System.CommandLine;
using StreakTrack.Cli.Terminal;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Reporting;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack analyze</c>: from a clip and its marks to the report.</summary>
internal sealed class AnalyzeCommand
{
    private readonly Argument<FileInfo> _clip = new("CLIP") { Description = "The clip: MP4, MOV, MKV, WebM or AVI." };

    private readonly Option<FileInfo?> _marks = new("--marks")
    {
        Description = "Ruler marks: a CSV file with the columns u_px, v_px, reading_mm (picture as displayed; top left pixel centre is 0, 0).",
        HelpName = "MARKS.csv",
    };

    private readonly Option<DirectoryInfo> _out = new("--out")
    {
        Description = "Folder for record.json, series.csv, datapackage.json, report.html and figures.",
        HelpName = "DIR",
        Required = true,
    };

    private readonly Option<FileInfo?> _record = new("--record")
    {
        Description = "Repeat an analysis: take marks and settings from this record. Options given beside it win.",
        HelpName = "RECORD.json",
    };

    private readonly SettingOptions _settings = new();
    private readonly Option<bool> _json = new("--json") { Description = "Print the record on standard output instead of the summary." };

    /// <summary>The command.</summary>
    public static Command Create(CommandStreams streams)
    {
        var self = new AnalyzeCommand();
        var command = new Command("analyze", "Measure the streak in every frame of a clip, fit its envelope and write a report.")
        {
            self._clip, self._marks, self._out, self._record,
        };
        self._settings.AddClipOptionsTo(command);
        self._settings.AddFitOptionsTo(command);
        command.Options.Add(self._json);
        command.SetAction((parsed, cancellationToken) => Task.Run(() => self.Run(parsed, streams, cancellationToken), cancellationToken));
        ExampleHelp.AddTo(command,
            "streaktrack analyze clip.mp4 --marks marks.csv --out result",
            "streaktrack analyze clip.mp4 --marks marks.csv --out result --frequency 38.9 --distance 1150",
            "streaktrack analyze clip.mp4 --marks marks.csv --out result --model rise --from 1.5 --json",
            "streaktrack analyze sweep.mp4 --marks marks.csv --steps steps.csv --out result",
            "streaktrack analyze clip.mp4 --record result/record.json --out again");
        return command;
    }

    private int Run(ParseResult parsed, CommandStreams streams, CancellationToken cancellationToken)
    {
        FileInfo clip = parsed.GetRequiredValue(_clip);
        string folder = parsed.GetRequiredValue(_out).FullName;

        AnalysisRecord? earlier = parsed.GetValue(_record) is FileInfo record ? RecordJson.Read(record.FullName) : null;
        AnalysisOptions options = _settings.Read(parsed, earlier?.Options ?? new AnalysisOptions());
        IReadOnlyList<RulerMark> marks = GivenMarks.Of(parsed.GetValue(_marks), earlier);

        // Marks given anew lay the band anew.
        if (parsed.GetValue(_marks) is not null)
            options = options with { BandMarks = [] };
        ClipAnalysis analysis;
        using (var progress = new ProgressLine(streams))
            analysis = ClipAnalyzer.Analyze(clip.FullName, marks, options, progress, cancellationToken);

        AnalysisReport.Write(analysis.Record, analysis.Series, analysis.SeriesAnalysis, AnalysisReport.PicturesOf(analysis), folder);

        if (parsed.GetValue(_json))
            streams.Output.Write(RecordJson.Write(analysis.Record));
        else
            Summary.Write(analysis.Record, Path.Combine(folder, ReportFolder.ReportFile), streams.Output);
        return AnalysisReport.ExitCodeOf(analysis.Record, clip.Name);
    }
}
