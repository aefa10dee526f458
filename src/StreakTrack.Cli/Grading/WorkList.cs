using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization;
using StreakTrack.Core;
using StreakTrack.Core.References;

namespace StreakTrack.Cli.Grading;

/// <summary>The submissions of a class, in the order of their names.</summary>
/// <param name="Items">The submissions.</param>
/// <param name="Reference">Path of the reference they are held against; null for none.</param>
/// <param name="Setting">Its setting; null where it has only one.</param>
internal sealed record WorkList(IReadOnlyList<WorkItem> Items, string? Reference, double? Setting)
{
    private const string FileName = "worklist.json";
    private const int MostStamped = 5000;

    /// <summary>Lists what lies in a folder: each folder, zip or other file in it is a submission; names beginning with a dot are left out.</summary>
    /// <param name="folder">The folder.</param>
    /// <param name="reference">Path of the reference they are held against; null for none.</param>
    /// <param name="setting">Its setting; null where it has only one.</param>
    /// <exception cref="UnusableInputException">There is no such folder, or nothing in it.</exception>
    public static WorkList Of(string folder, string? reference, double? setting)
    {
        if (!Directory.Exists(folder))
            throw new UnusableInputException(folder, "there is no such folder", "Name the folder that holds the submissions.");
        // Another reference is another judgement.
        string heldAgainst = reference is null ? "" : $"{Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(ReferenceJson.FileOf(reference))))} {setting?.ToString("R", CultureInfo.InvariantCulture)}\n";
        WorkItem[] items = [.. Directory.EnumerateFileSystemEntries(Path.GetFullPath(folder))
            .Where(p => !Path.GetFileName(p).StartsWith('.'))
            .OrderBy(p => p, StringComparer.Ordinal)
            .Select(p => new WorkItem(p, Stamp(p, heldAgainst)))];
        return items.Length > 0
            ? new WorkList(items, reference, setting)
            : throw new UnusableInputException(folder, "the folder is empty", "Put one folder or zip for each submission into it.");
    }

    /// <summary>Reads the list of an earlier plan.</summary>
    /// <exception cref="UnusableInputException">There is none.</exception>
    public static WorkList Read(string outFolder)
    {
        string path = Path.Combine(outFolder, FileName);
        try
        {
            return JsonSerializer.Deserialize(File.ReadAllText(path), WorkListJsonContext.Default.WorkList)!;
        }
        catch (Exception e) when (e is IOException or JsonException)
        {
            throw new UnusableInputException(path, "there is no work list", "Make it with: streaktrack grade FOLDER --out DIR --plan", e);
        }
    }

    /// <summary>Writes the list.</summary>
    public void Write(string outFolder) =>
        SafeFile.Write(Path.Combine(outFolder, FileName), JsonSerializer.Serialize(this, WorkListJsonContext.Default.WorkList) + "\n");

    // Names, sizes and times of all files: a submission that was changed is judged anew. Links are named and not followed.
    private static string Stamp(string path, string heldAgainst)
    {
        var text = new StringBuilder(Path.GetFileName(path)).Append('\n').Append(heldAgainst);
        var infos = new List<FileSystemInfo> { new FileInfo(path) };
        if (Directory.Exists(path) && new FileInfo(path).LinkTarget is null)
        {
            FileSystemInfo[] inside = [.. new DirectoryInfo(path).EnumerateFileSystemInfos("*", new EnumerationOptions
            {
                RecurseSubdirectories = true, IgnoreInaccessible = true, AttributesToSkip = FileAttributes.None, MaxRecursionDepth = 32,
            }).Take(MostStamped + 1)];
            // A folder with more is refused, whatever lies in it; which of its files come first is the file system's affair.
            if (inside.Length <= MostStamped)
                infos.AddRange(inside.OrderBy(i => i.FullName, StringComparer.Ordinal));
        }

        foreach (FileSystemInfo info in infos)
        {
            text.Append(CultureInfo.InvariantCulture,
                $"{Path.GetRelativePath(path, info.FullName)} {(info is FileInfo { Exists: true } file ? file.Length : -1)} {info.LastWriteTimeUtc.Ticks}\n");
        }

        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text.ToString())))[..16];
    }
}

/// <summary>One submission of the list.</summary>
/// <param name="Path">Where it lies.</param>
/// <param name="Stamp">Changes when the submission changes; names its result, so that a result is that of this submission as it is.</param>
internal sealed record WorkItem(string Path, string Stamp);

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.SnakeCaseLower, WriteIndented = true, NewLine = "\n")]
[JsonSerializable(typeof(WorkList))]
internal sealed partial class WorkListJsonContext : JsonSerializerContext;
