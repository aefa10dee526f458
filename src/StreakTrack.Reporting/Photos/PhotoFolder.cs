using StreakTrack.Core.Records;
using StreakTrack.Reporting.Figures;

namespace StreakTrack.Reporting.Photos;

/// <summary>Writes what photographs showed into a folder, as <see cref="ReportFolder"/> does for a clip: the record gets its name last.</summary>
public static class PhotoFolder
{
    /// <summary>Name of the table of all photographs.</summary>
    public const string PhotosFile = "photos.csv";

    /// <summary>Name of the table that a resonance study takes.</summary>
    public const string CurveFile = "resonance.csv";

    private static readonly string[] FigureNames = ["photos", "calibration", "estimates"];

    /// <summary>Writes tables, description, page, figures and record.</summary>
    /// <param name="content">What to report.</param>
    /// <param name="folder">The folder; made where it is not there.</param>
    /// <exception cref="Core.UnusableInputException"><paramref name="folder"/> is a file.</exception>
    /// <exception cref="IOException">The disk is full or takes no files.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be written to.</exception>
    public static void Write(PhotoContent content, string folder)
    {
        AnalysisRecord record = content.Record;
        IReadOnlyList<Figure> figures = Draw(content);
        string photosCsv = PhotosCsv.Write(record.Result.Photos);
        string? curveCsv = PhotosCsv.WriteCurve(record.Result.Photos);
        FileSet files = new();
        files.Add(figures);
        files.Add(PhotosFile, photosCsv);
        if (curveCsv is not null)
            files.Add(CurveFile, curveCsv);
        files.Add(ReportFolder.PackageFile, DataPackage.Describe(record, photosCsv));
        files.Add(ReportFolder.ReportFile, PhotoPage.Write(content, figures.ToDictionary(f => f.Name)));
        files.Add(ReportFolder.RecordFile, RecordJson.Write(record));

        // Files of an earlier run that this one does not have would belong to other numbers.
        IEnumerable<string> others = FigureNames.Except(figures.Select(f => f.Name));
        string[] extensions = [".svg", ".png"];
        files.Write(folder,
        [
            ReportFolder.RecordFile, .. curveCsv is null ? (string[])[CurveFile] : [],
            .. others.SelectMany(n => extensions.Select(e => FileSet.FigurePath(n, e))),
        ]);
    }

    private static List<Figure> Draw(PhotoContent content)
    {
        List<Figure> figures = [];
        IReadOnlyList<PhotoResultRecord> photos = content.Record.Result.Photos;
        if (photos.Any(p => p.AmplitudeMm is not null))
            figures.Add(PhotoFigure.Draw(photos));
        IReadOnlyList<MarkRecord> marks = content.Record.Marks;
        if (content.Record.Result.Scale is { } scale && scale.ResidualsMm.Count == marks.Count && marks.Count > 2)
            figures.Add(CalibrationFigure.Draw(marks, scale.ResidualsMm));
        if (photos.Any(p => p.AmplitudeMm is not null && p.ThresholdAmplitudeMm is not null))
            figures.Add(EstimatesFigure.Draw(content.Series, "photographs"));
        return figures;
    }
}
