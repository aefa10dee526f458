using System.Globalization;
using System.IO.Compression;
using System.Text;

namespace StreakTrack.Core.Submissions;

/// <summary>The files of a submission that a judgement needs, taken from a folder or a zip that may be hostile.</summary>
/// <remarks>Nothing of an archive is written under a name from the archive. Links, paths that lead out, names with control characters or direction
/// marks, and archives that unpack to far more than they are, are refused as a whole.</remarks>
/// <param name="ClipPath">The clip; null when there is none.</param>
/// <param name="RecordPath">The record; null when there is none.</param>
public sealed record SubmissionFiles(string? ClipPath, string? RecordPath)
{
    private const int MostEntries = 2000;
    private const long MostBytes = 4L << 30;

    /// <summary>Films and pictures do not shrink; an archive that does, beyond this, is no submission.</summary>
    private const double HighestRatio = 200;
    private const long RatioFromBytes = 16L << 20;

    private static readonly string[] ClipEndings = [".mp4", ".mov", ".m4v", ".mkv", ".webm", ".avi", ".3gp"];

    /// <summary>Finds the files.</summary>
    /// <param name="submission">Folder, zip or bare clip.</param>
    /// <param name="workFolder">Empty folder for what is unpacked.</param>
    /// <exception cref="SubmissionRefusedException">It holds what is not opened.</exception>
    /// <exception cref="UnusableInputException">It is no submission.</exception>
    public static SubmissionFiles Open(string submission, string workFolder)
    {
        CheckName(Path.GetFileName(Path.TrimEndingDirectorySeparator(Path.GetFullPath(submission))));
        RefuseLink(submission);
        if (Directory.Exists(submission))
            return FromFolder(submission);
        if (!File.Exists(submission))
            throw new UnusableInputException(submission, "there is no such file or folder", "Name a folder or zip with a clip and its record.");
        if (Path.GetExtension(submission).Equals(".zip", StringComparison.OrdinalIgnoreCase))
            return FromZip(submission, workFolder);
        return IsClip(submission)
            ? new SubmissionFiles(submission, null)
            : throw new UnusableInputException(submission, "this is neither a folder nor a zip nor a clip", "Name a folder or zip with a clip and its record.");
    }

    private static SubmissionFiles FromFolder(string folder)
    {
        var files = new List<string>();
        var folders = new Queue<string>([folder]);
        while (folders.TryDequeue(out string? at))
        {
            foreach (string entry in Directory.EnumerateFileSystemEntries(at))
            {
                CheckName(Path.GetFileName(entry));
                RefuseLink(entry);
                if (Directory.Exists(entry))
                    folders.Enqueue(entry);
                else
                    files.Add(entry);
                if (files.Count + folders.Count > MostEntries)
                    throw new SubmissionRefusedException($"it holds more than {MostEntries} files");
            }
        }

        return new SubmissionFiles(One(files, IsClip, "clips"), One(files, IsRecord, "records"));
    }

    private static SubmissionFiles FromZip(string path, string workFolder)
    {
        try
        {
            using ZipArchive archive = ZipFile.OpenRead(path);
            if (archive.Entries.Count > MostEntries)
                throw new SubmissionRefusedException($"the archive holds more than {MostEntries} files");
            foreach (ZipArchiveEntry entry in archive.Entries)
                Check(entry);
            // What an archive states may be any number, the sum of two more than a whole number holds.
            double total = archive.Entries.Sum(e => (double)e.Length), packed = new FileInfo(path).Length;
            if (!(total <= MostBytes) || (total > RatioFromBytes && total > HighestRatio * packed))
                throw new SubmissionRefusedException(string.Create(CultureInfo.InvariantCulture, $"the archive of {packed:0} bytes claims to unpack to {total:0} bytes"));

            ZipArchiveEntry? clip = One(archive.Entries, e => IsClip(e.FullName), "clips"), record = One(archive.Entries, e => IsRecord(e.FullName), "records");
            Directory.CreateDirectory(workFolder);
            return new SubmissionFiles(
                clip is null ? null : Unpack(clip, Path.Combine(workFolder, "clip" + Path.GetExtension(clip.FullName).ToLowerInvariant())),
                record is null ? null : Unpack(record, Path.Combine(workFolder, "record.json")));
        }
        catch (InvalidDataException e)
        {
            throw new UnusableInputException(path, "the archive is damaged", "Pack the submission anew.", e);
        }
    }

    private static void Check(ZipArchiveEntry entry)
    {
        const int kindMask = 0xF000, link = 0xA000;   // the file's kind in the upper half of the attributes, as Unix writes it
        if (((entry.ExternalAttributes >> 16) & kindMask) == link)
            throw new SubmissionRefusedException($"{Shown(entry.FullName)} is a link");
        string name = entry.FullName;
        if (name.StartsWith('/') || name.Contains('\\', StringComparison.Ordinal) || name.Contains(':', StringComparison.Ordinal) || name.Split('/').Contains(".."))
            throw new SubmissionRefusedException($"{Shown(name)} leads out of the archive");
        foreach (string part in name.Split('/', StringSplitOptions.RemoveEmptyEntries))
            CheckName(part);
    }

    // What is unpacked is counted, because an archive can state what it likes.
    private static string Unpack(ZipArchiveEntry entry, string path)
    {
        using Stream from = entry.Open();
        using FileStream to = File.Create(path);
        byte[] buffer = new byte[1 << 16];
        long total = 0;
        for (int n; (n = from.Read(buffer)) > 0;)
        {
            total += n;
            if (total > entry.Length)
                throw new SubmissionRefusedException($"{Shown(entry.FullName)} unpacks to more than it states");
            to.Write(buffer, 0, n);
        }

        return path;
    }

    private static void RefuseLink(string path)
    {
        if (new FileInfo(path).LinkTarget is not null)
            throw new SubmissionRefusedException($"{Shown(Path.GetFileName(path))} is a link");
    }

    private static void CheckName(string name)
    {
        foreach (Rune rune in name.EnumerateRunes())
        {
            if (IsUnseen(rune))
                throw new SubmissionRefusedException($"the name {Shown(name)} holds signs that are not shown");
        }
    }

    /// <summary>A name fit to be shown: signs that are not printed stand as their numbers.</summary>
    public static string Shown(string name) => string.Concat(name.EnumerateRunes().Select(r =>
        IsUnseen(r) ? $"<U+{r.Value:X4}>" : r.ToString()));

    private static bool IsUnseen(Rune rune) =>
        Rune.IsControl(rune) || rune.Value is 0xFFFD or (>= 0x200B and <= 0x200F) or (>= 0x202A and <= 0x202E) or (>= 0x2066 and <= 0x2069);

    private static T? One<T>(IEnumerable<T> all, Func<T, bool> fits, string kind)
        where T : class
    {
        T[] found = [.. all.Where(fits).Take(2)];
        return found.Length < 2
            ? found.FirstOrDefault()
            : throw new UnusableInputException("the submission", $"it holds several {kind}", "Hand in one clip with its record.");
    }

    private static bool IsClip(string path) => ClipEndings.Contains(Path.GetExtension(path).ToLowerInvariant());

    private static bool IsRecord(string path) => Path.GetFileName(path) == "record.json";
}
