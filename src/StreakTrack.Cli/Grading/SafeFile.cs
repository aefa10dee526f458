using System.Text;

namespace StreakTrack.Cli.Grading;

/// <summary>Files that are either there as a whole or not at all, whenever the machine stops.</summary>
internal static class SafeFile
{
    private const string PartialSuffix = ".partial";

    /// <summary>Writes beside the place, brings it to the disk, then gives it its name.</summary>
    public static void Write(string path, string text)
    {
        Directory.CreateDirectory(Path.GetDirectoryName(path)!);
        string partial = $"{path}.{Environment.ProcessId}{PartialSuffix}";
        using (var stream = new FileStream(partial, FileMode.Create, FileAccess.Write))
        {
            stream.Write(Encoding.UTF8.GetBytes(text));
            stream.Flush(flushToDisk: true);
        }

        File.Move(partial, path, overwrite: true);
    }

    /// <summary>Removes what writers that were killed left in a folder, not in those inside it.</summary>
    public static void RemovePartial(string folder)
    {
        foreach (string left in Directory.EnumerateFiles(folder, "*" + PartialSuffix))
            File.Delete(left);
    }
}
