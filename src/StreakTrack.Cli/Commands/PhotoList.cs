using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Studies;
using StreakTrack.Imaging.Photos;

namespace StreakTrack.Cli.Commands;

/// <summary>Which photographs make the series, and in which order.</summary>
internal static class PhotoList
{
    private const int MostShown = 5;

    private static readonly string[] Extensions = [".jpg", ".jpeg", ".png"];

    // Cameras write these when they are not asked for anything better; a series of them must not look like an empty folder.
    private static readonly string[] OtherExtensions = [".heic", ".heif", ".webp", ".tif", ".tiff", ".dng"];

    /// <summary>The photographs in order, with their frequencies.</summary>
    /// <param name="paths">Files and folders as given.</param>
    /// <param name="tablePath">The table; null for none.</param>
    /// <param name="earlier">An earlier record whose order and frequencies count where there is no table; null for none.</param>
    /// <param name="findings">Receives remarks on what was left out.</param>
    /// <exception cref="UnusableInputException">There are none, too many, or the table names one that is not there.</exception>
    public static IReadOnlyList<PhotoInput> Of(
        IReadOnlyList<string> paths, string? tablePath, AnalysisRecord? earlier, List<Finding> findings)
    {
        var found = new List<string>();
        foreach (string path in paths)
        {
            if (Directory.Exists(path))
                found.AddRange(InFolder(path, findings));
            else
                found.Add(path);
        }

        if (found.Count == 0)
            throw new UnusableInputException(paths[0], "there is no photograph in it", "Name a folder with JPEG or PNG pictures.");
        if (tablePath is not null)
        {
            return Listed([.. PhotoTable.Read(tablePath).Select(r => (r.Photo, (double?)r.FrequencyHz, $"{tablePath} line {r.Line}"))], "the table", found, findings);
        }

        if (earlier is not null)
            return Listed([.. earlier.Photos.Select(p => (p.File, p.FrequencyHz, "the record"))], "the record", found, findings);
        return found.Count <= PhotoTable.MostPhotos
            ? [.. found.Select(path => new PhotoInput(path))]
            : throw new UnusableInputException(paths[0], $"there are {found.Count} photographs, and a series has at most {PhotoTable.MostPhotos}", "Split the series.");
    }

    private static List<PhotoInput> Listed(
        IReadOnlyList<(string Photo, double? FrequencyHz, string Place)> rows, string list, List<string> found, List<Finding> findings)
    {
        var byName = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (string path in found)
        {
            string name = Path.GetFileName(path);
            if (!byName.TryAdd(name, path))
                throw new UnusableInputException(path, $"another photograph of the series is called {name} too", "Give every photograph a name of its own.");
        }

        var inputs = new List<PhotoInput>(rows.Count);
        foreach ((string photo, double? frequency, string place) in rows)
        {
            if (!byName.Remove(photo, out string? path))
                throw new UnusableInputException(place, $"there is no photograph {photo} among those given", "Correct the name, with its ending, or add the photograph.");
            inputs.Add(new PhotoInput(path, frequency));
        }

        string[] rest = [.. found.Select(p => Path.GetFileName(p)).Where(byName.ContainsKey)];
        if (rest.Length > 0)
            findings.Add(FindingKinds.PhotoLeftOut.With($"{Shown(rest)}: not in {list}; left out.") with { Advice = "Add a row for it, if it belongs to the series." });
        return inputs;
    }

    // Names that begin with a dot are what systems leave beside pictures; links could lead anywhere.
    private static IEnumerable<string> InFolder(string folder, List<Finding> findings)
    {
        FileInfo[] files = [.. new DirectoryInfo(folder).EnumerateFiles().Where(f => !f.Name.StartsWith('.'))];
        string[] links = [.. files.Where(f => IsPhoto(f) && f.LinkTarget is not null).Select(f => f.Name).Order(StringComparer.Ordinal)];
        string[] others = [.. files.Where(f => OtherExtensions.Contains(f.Extension.ToLowerInvariant())).Select(f => f.Name).Order(StringComparer.Ordinal)];
        if (links.Length > 0)
            findings.Add(FindingKinds.PhotoLeftOut.With($"{Shown(links)}: a link and no file; left out.") with { Advice = "Put the photograph itself into the folder, or name it on the command line." });
        if (others.Length > 0)
            findings.Add(FindingKinds.PhotoLeftOut.With($"{Shown(others)}: neither JPEG nor PNG; left out.") with { Advice = "Set the camera to its most compatible format (JPEG), or convert the picture." });
        return files.Where(f => IsPhoto(f) && f.LinkTarget is null).OrderBy(f => f.Name, NumberedNames.Order).Select(f => f.FullName);
    }

    private static bool IsPhoto(FileInfo file) => Extensions.Contains(file.Extension.ToLowerInvariant());

    private static string Shown(string[] names) => names.Length <= MostShown
        ? string.Join(", ", names)
        : $"{string.Join(", ", names[..(MostShown - 1)])} and {names.Length - MostShown + 1} more";
}
