using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;

namespace StreakTrack.Reporting.Tests;

public class ReportFolderTests
{
    private static readonly string[] Files =
    [
        "datapackage.json", "figures/amplitude-log.png", "figures/amplitude-log.svg", "figures/amplitude.png", "figures/amplitude.svg",
        "figures/calibration.png", "figures/calibration.svg", "figures/estimates.png", "figures/estimates.svg", "figures/robustness.png",
        "figures/robustness.svg", "record.json", "report.html", "series.csv",
    ];

    private static string[] FilesIn(TemporaryFolder folder) =>
    [
        .. Directory.GetFiles(folder.Path, "*", SearchOption.AllDirectories).Select(f => Path.GetRelativePath(folder.Path, f))
            .Order(StringComparer.Ordinal),
    ];

    [Fact]
    public void All_files_are_written_and_nothing_unfinished_is_left()
    {
        using TemporaryFolder folder = new();
        ReportFolder.Write(Samples.Content, folder.Of("new", "result"));
        Assert.Equal(Files.Select(f => "new/result/" + f), FilesIn(folder));
    }

    [Fact]
    public void The_record_and_the_series_read_back()
    {
        using TemporaryFolder folder = new();
        ReportFolder.Write(Samples.Content, folder.Path);
        AnalysisRecord record = RecordJson.Read(folder.Of("record.json"));
        Assert.Equal(Samples.Record.Result.Fit!.Parameters["tau_s"].Value, record.Result.Fit!.Parameters["tau_s"].Value);
        Assert.Equal(Samples.Series.Count, SeriesCsv.Read(folder.Of("series.csv")).Count);
    }

    [Fact]
    public void Writing_again_gives_the_same_bytes()
    {
        using TemporaryFolder first = new();
        using TemporaryFolder second = new();
        ReportFolder.Write(Samples.Content, first.Path);
        ReportFolder.Write(Samples.Content, second.Path);
        Assert.All(Files, f => Assert.Equal(File.ReadAllBytes(first.Of(f)), File.ReadAllBytes(second.Of(f))));
    }

    [Fact]
    public void Foreign_files_are_left_alone_and_old_figures_of_ours_are_not()
    {
        using TemporaryFolder folder = new();
        ReportFolder.Write(Samples.Content, folder.Path);
        File.WriteAllText(folder.Of("notes.txt"), "mine");
        File.WriteAllText(folder.Of("figures", "sketch.svg"), "mine");
        AnalysisRecord without = Samples.Record with { Result = Samples.Record.Result with { Robustness = [] } };
        ReportFolder.Write(Samples.Content with { Record = without }, folder.Path);

        Assert.Equal("mine", File.ReadAllText(folder.Of("notes.txt")));
        Assert.Equal("mine", File.ReadAllText(folder.Of("figures", "sketch.svg")));
        Assert.False(File.Exists(folder.Of("figures", "robustness.svg")));
        Assert.False(File.Exists(folder.Of("figures", "robustness.png")));
    }

    [Fact]
    public void A_run_that_fails_leaves_the_earlier_results_whole()
    {
        using TemporaryFolder folder = new();
        ReportFolder.Write(Samples.Content, folder.Path);
        byte[] before = File.ReadAllBytes(folder.Of("record.json"));

        // A folder in the place of a file that is to be written: the disk refuses.
        Directory.CreateDirectory(folder.Of("series.csv.unfinished"));
        AnalysisRecord other = Samples.Record with { Marks = [] };
        Assert.ThrowsAny<Exception>(() => ReportFolder.Write(Samples.Content with { Record = other }, folder.Path));
        Assert.Equal(before, File.ReadAllBytes(folder.Of("record.json")));
    }

    [Fact]
    public void A_file_in_the_place_of_the_folder_is_refused_with_advice()
    {
        using TemporaryFolder folder = new();
        File.WriteAllText(folder.Of("result"), "x");
        UnusableInputException e = Assert.Throws<UnusableInputException>(() => ReportFolder.Write(Samples.Content, folder.Of("result")));
        Assert.Contains("folder", e.NextStep, StringComparison.Ordinal);
    }
}
