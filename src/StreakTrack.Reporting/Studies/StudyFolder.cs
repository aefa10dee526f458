using StreakTrack.Reporting.Figures;

namespace StreakTrack.Reporting.Studies;

/// <summary>Writes the report of a study into a folder: <c>report.html</c> and <c>figures/</c>.</summary>
public static class StudyFolder
{
    /// <summary>Writes page and figures.</summary>
    /// <param name="report">What to report.</param>
    /// <param name="folder">The folder; made where it is not there.</param>
    /// <exception cref="Core.UnusableInputException"><paramref name="folder"/> is a file.</exception>
    /// <exception cref="IOException">The disk is full or takes no files.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be written to.</exception>
    public static void Write(StudyReport report, string folder)
    {
        Figure[] figures = [.. report.Plots.Select(StudyFigure.Draw)];
        FileSet files = new();
        files.Add(figures);
        files.Add(ReportFolder.ReportFile, StudyPage.Write(report, figures));
        files.Write(folder, []);
    }
}
