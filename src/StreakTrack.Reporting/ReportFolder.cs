using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Reporting;

/// <summary>Writes the results of an analysis into a folder.</summary>
/// <remarks>
/// All files are written before the first gets its name, and the record gets its name last: where there is a record, everything that
/// belongs to it is there too. Files of other names are never touched.
/// </remarks>
public static class ReportFolder
{
    /// <summary>Name of the record.</summary>
    public const string RecordFile = "record.json";

    /// <summary>Name of the series.</summary>
    public const string SeriesFile = "series.csv";

    /// <summary>Name of the table of a sweep's steps.</summary>
    public const string PlateausFile = "plateaus.csv";

    /// <summary>Name of the description of the series.</summary>
    public const string PackageFile = "datapackage.json";

    /// <summary>Name of the page for people.</summary>
    public const string ReportFile = "report.html";

    /// <summary>Name of the folder with the figures.</summary>
    public const string FiguresFolder = "figures";

    /// <summary>Writes record, series, description, page and figures.</summary>
    /// <param name="content">What to report.</param>
    /// <param name="folder">The folder; made where it is not there.</param>
    /// <exception cref="UnusableInputException"><paramref name="folder"/> is a file.</exception>
    /// <exception cref="IOException">The disk is full or takes no files.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be written to.</exception>
    public static void Write(ReportContent content, string folder)
    {
        IReadOnlyList<Figure> figures = ReportFigures.Draw(content);
        string seriesCsv = SeriesCsv.Write(content.Series);
        FileSet files = new();
        files.Add(figures);
        files.Add(SeriesFile, seriesCsv);
        if (content.Record.Result.Sweep is SweepRecord sweep)
            files.Add(PlateausFile, PlateausCsv.Write(sweep));
        files.Add(PackageFile, DataPackage.Describe(content.Record, seriesCsv));
        files.Add(ReportFile, ReportPage.Write(content, figures.ToDictionary(f => f.Name)));
        files.Add(RecordFile, RecordJson.Write(content.Record));

        // Figures of an earlier analysis that this one does not have would belong to other numbers.
        IEnumerable<string> others = ReportFigures.Names.Except(figures.Select(f => f.Name));
        string[] extensions = [".svg", ".png"];
        files.Write(folder, [RecordFile, .. content.Record.Result.Sweep is null ? (string[])[PlateausFile] : [], .. others.SelectMany(n => extensions.Select(e => FileSet.FigurePath(n, e)))]);
    }
}
