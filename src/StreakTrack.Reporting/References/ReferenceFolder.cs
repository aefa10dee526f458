using StreakTrack.Core.References;
using StreakTrack.Reporting.Figures;

namespace StreakTrack.Reporting.References;

/// <summary>Writes a reference into a folder: <see cref="ReferenceJson.FileName"/>, <c>handout.html</c>, <c>decay_band.csv</c> and <c>figures/</c>.</summary>
public static class ReferenceFolder
{
    /// <summary>Name of the page to print.</summary>
    public const string HandoutFile = "handout.html";

    /// <summary>Writes the files.</summary>
    /// <param name="reference">The reference.</param>
    /// <param name="folder">The folder; made where it is not there.</param>
    /// <exception cref="Core.UnusableInputException"><paramref name="folder"/> is a file.</exception>
    /// <exception cref="IOException">The disk is full or takes no files.</exception>
    /// <exception cref="UnauthorizedAccessException">The folder may not be written to.</exception>
    public static void Write(InstrumentReference reference, string folder)
    {
        ArgumentNullException.ThrowIfNull(reference);
        Figure[] figures = [.. ReferenceFigures.All(reference)];
        FileSet files = new();
        files.Add(figures);
        files.Add("decay_band.csv", ReferenceBandCsv.Write(reference));
        files.Add(HandoutFile, ReferencePage.Write(reference, figures));
        files.Add(ReferenceJson.FileName, ReferenceJson.Write(reference));
        // A reference from parameters has no figure of runs.
        files.Write(folder, [FileSet.FigurePath("runs", ".svg"), FileSet.FigurePath("runs", ".png")]);
    }
}
