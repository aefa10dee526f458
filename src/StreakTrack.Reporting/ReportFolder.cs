using System.Text;
using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Reporting;

/// <summary>Writes the results of an analysis into a folder.</summary>
/// <remarks>
/// Every file is first written beside its place under another name, and only when all are written do they get their names, the record last.
/// A run that is broken off so leaves the earlier results whole, or no record. Files of other names are never touched.
/// </remarks>
public static class ReportFolder
{
    /// <summary>Name of the record.</summary>
    public const string RecordFile = "record.json";

    /// <summary>Name of the series.</summary>
    public const string SeriesFile = "series.csv";

    /// <summary>Name of the description of the series.</summary>
    public const string PackageFile = "datapackage.json";

    /// <summary>Name of the page for people.</summary>
    public const string ReportFile = "report.html";

    /// <summary>Name of the folder with the figures.</summary>
    public const string FiguresFolder = "figures";

    private const string UnfinishedSuffix = ".unfinished";

    private static readonly UTF8Encoding Utf8 = new(encoderShouldEmitUTF8Identifier: false);

    /// <summary>Writes record, series, description, page and figures.</summary>
    /// <param name="content">What to report.</param>
    /// <param name="folder">The folder; made where it is not there.</param>
    /// <exception cref="UnusableInputException"><paramref name="folder"/> is a file.</exception>
    /// <exception cref="IOException">The disk is full or takes no files.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be written to.</exception>
    public static void Write(ReportContent content, string folder)
    {
        if (File.Exists(folder))
        {
            throw new UnusableInputException(folder, "this is a file, and results need a folder",
                "Name another folder, or one that is yet to be made.");
        }

        IReadOnlyList<Figure> figures = ReportFigures.Draw(content);
        string seriesCsv = SeriesCsv.Write(content.Series);
        List<(string Path, ReadOnlyMemory<byte> Bytes)> files = [];
        void Add(string path, string text) => files.Add((path, Utf8.GetBytes(text)));
        foreach (Figure figure in figures)
        {
            Add(Path.Combine(FiguresFolder, figure.Name + ".svg"), figure.Svg + "\n");
            files.Add((Path.Combine(FiguresFolder, figure.Name + ".png"), figure.Png));
        }

        Add(SeriesFile, seriesCsv);
        Add(PackageFile, DataPackage.Describe(content.Record, seriesCsv));
        Add(ReportFile, ReportPage.Write(content, figures.ToDictionary(f => f.Name)));

        // The record comes last: where there is one, everything else is there too.
        Add(RecordFile, RecordJson.Write(content.Record));

        Directory.CreateDirectory(Path.Combine(folder, FiguresFolder));
        try
        {
            foreach ((string path, ReadOnlyMemory<byte> bytes) in files)
                File.WriteAllBytes(Path.Combine(folder, path + UnfinishedSuffix), bytes.Span);
            File.Delete(Path.Combine(folder, RecordFile));
            RemoveOldFigures(folder, figures);
            foreach ((string path, _) in files)
                File.Move(Path.Combine(folder, path + UnfinishedSuffix), Path.Combine(folder, path), overwrite: true);
        }
        finally
        {
            foreach ((string path, _) in files)
                File.Delete(Path.Combine(folder, path + UnfinishedSuffix));
        }
    }

    /// <summary>Removes figures of an earlier analysis that this one does not have; they would belong to other numbers.</summary>
    private static void RemoveOldFigures(string folder, IReadOnlyList<Figure> figures)
    {
        foreach (string name in ReportFigures.Names.Except(figures.Select(f => f.Name)))
        {
            File.Delete(Path.Combine(folder, FiguresFolder, name + ".svg"));
            File.Delete(Path.Combine(folder, FiguresFolder, name + ".png"));
        }
    }
}
