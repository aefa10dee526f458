using System.Text;
using StreakTrack.Core;
using StreakTrack.Reporting.Figures;

namespace StreakTrack.Reporting;

/// <summary>Files that belong together and are put into a folder together.</summary>
/// <remarks>
/// Every file is first written beside its place under another name, and only when all are written do they get their names, in the order in
/// which they were added. A run that is broken off while writing leaves what was there before; files of other names are never touched. The
/// contents reach the disk before the names do, so that a machine that stops leaves no name on an empty file.
/// </remarks>
internal sealed class FileSet
{
    private const string UnfinishedSuffix = ".unfinished";

    private static readonly UTF8Encoding Utf8 = new(encoderShouldEmitUTF8Identifier: false);

    private readonly List<(string Path, ReadOnlyMemory<byte> Bytes)> _files = [];

    /// <summary>Adds a text file.</summary>
    /// <param name="path">Its path inside the folder.</param>
    /// <param name="text">Its text; written as UTF-8.</param>
    public void Add(string path, string text) => _files.Add((path, Utf8.GetBytes(text)));

    /// <summary>Adds figures, each as a drawing and as a picture.</summary>
    public void Add(IEnumerable<Figure> figures)
    {
        foreach (Figure figure in figures)
        {
            Add(FigurePath(figure.Name, ".svg"), figure.Svg + "\n");
            _files.Add((FigurePath(figure.Name, ".png"), figure.Png));
        }
    }

    /// <summary>Puts the files into a folder.</summary>
    /// <param name="folder">The folder; made where it is not there.</param>
    /// <param name="outdated">Paths inside the folder of files of ours that would belong to other results; removed where they are.</param>
    /// <exception cref="UnusableInputException"><paramref name="folder"/> is a file.</exception>
    public void Write(string folder, IReadOnlyCollection<string> outdated)
    {
        if (File.Exists(folder))
        {
            throw new UnusableInputException(folder, "this is a file, and results need a folder",
                "Name another folder, or one that is yet to be made.");
        }

        foreach (string inner in _files.Select(f => Path.GetDirectoryName(f.Path)!).Distinct())
            Directory.CreateDirectory(Path.Combine(folder, inner));
        try
        {
            // What a run that was killed may have left; the files of this set are written anew.
            foreach (string path in outdated)
                Remove(Path.Combine(folder, path + UnfinishedSuffix));
            foreach ((string path, ReadOnlyMemory<byte> bytes) in _files)
                WriteThrough(Path.Combine(folder, path + UnfinishedSuffix), bytes.Span);
            foreach (string path in outdated)
                Remove(Path.Combine(folder, path));
            foreach ((string path, _) in _files)
                File.Move(Path.Combine(folder, path + UnfinishedSuffix), Path.Combine(folder, path), overwrite: true);
        }
        finally
        {
            foreach ((string path, _) in _files)
                File.Delete(Path.Combine(folder, path + UnfinishedSuffix));
        }
    }

    // Deleting a file that is not there does nothing, but in a folder that is not there it fails: results without figures have none.
    private static void Remove(string path)
    {
        if (File.Exists(path))
            File.Delete(path);
    }

    private static void WriteThrough(string path, ReadOnlySpan<byte> bytes)
    {
        try
        {
            using var file = new FileStream(path, FileMode.Create, FileAccess.Write, FileShare.None, bufferSize: 0);
            file.Write(bytes);
            file.Flush(flushToDisk: true);
        }
        catch (ArgumentOutOfRangeException e)
        {
            // What the runtime makes of a file that may not grow so large.
            throw new IOException($"The file '{path}' cannot grow to {bytes.Length} bytes.", e);
        }
    }

    /// <summary>Path of a figure's file inside the folder.</summary>
    /// <param name="name">The figure's name.</param>
    /// <param name="extension">".svg" or ".png".</param>
    public static string FigurePath(string name, string extension) => Path.Combine(ReportFolder.FiguresFolder, name + extension);
}
