using System.Text;
using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Reporting;

namespace StreakTrack.Worksheet.Desk;

/// <summary>The folder of one clip's work: its record, saved as the work goes on, and its results.</summary>
internal sealed class WorkFolder
{
    /// <summary>Letters of the hash in a folder's name: enough to tell clips apart, and few enough to read.</summary>
    private const int HashLetters = 12;

    private const int MaxNameLetters = 40;

    private WorkFolder(string path) => FullPath = path;

    /// <summary>The folder.</summary>
    public string FullPath { get; }

    /// <summary>The record's file.</summary>
    public string RecordPath => Path.Combine(FullPath, ReportFolder.RecordFile);

    /// <summary>The folder for a clip: the one that this clip had before, whatever it was called then, or a new one.</summary>
    /// <param name="root">Folder of all work.</param>
    /// <param name="clipName">File name of the clip.</param>
    /// <param name="sha256">SHA-256 of the clip.</param>
    public static WorkFolder For(string root, string clipName, string sha256)
    {
        string tail = "-" + sha256[..HashLetters];
        Directory.CreateDirectory(root);
        string path = Directory.EnumerateDirectories(root, "*" + tail).Order(StringComparer.Ordinal).FirstOrDefault()
            ?? Path.Combine(root, Plain(clipName) + tail);
        Directory.CreateDirectory(path);
        return new WorkFolder(path);
    }

    /// <summary>Reads the record of earlier work on the clip; null where there is none.</summary>
    /// <param name="sha256">SHA-256 of the clip.</param>
    /// <param name="remark">What to tell when there is one that cannot be used; it is then kept under another name.</param>
    public AnalysisRecord? Read(string sha256, out string? remark)
    {
        remark = null;
        if (!File.Exists(RecordPath))
            return null;
        try
        {
            AnalysisRecord record = RecordJson.Read(RecordPath);
            if (record.Clip?.Sha256 == sha256)
                return record;
            remark = "The record in the work folder belongs to another clip";
        }
        catch (UnusableInputException e)
        {
            remark = "The record in the work folder cannot be read: " + e.Problem;
        }

        string aside = Path.Combine(FullPath, $"record-set-aside-{DateTime.UtcNow:yyyyMMdd-HHmmss}.json");
        File.Move(RecordPath, aside, overwrite: true);
        remark += $". It was kept as {Path.GetFileName(aside)}, and the work begins anew.";
        return null;
    }

    /// <summary>Saves the record, whole or not at all.</summary>
    public void Save(AnalysisRecord record)
    {
        var files = new FileSet();
        files.Add(ReportFolder.RecordFile, RecordJson.Write(record));
        files.Write(FullPath, outdated: []);
    }

    // A name for people that can be no path: letters, digits, hyphens.
    private static string Plain(string fileName)
    {
        var plain = new StringBuilder();
        foreach (char letter in Path.GetFileNameWithoutExtension(fileName.Replace('\\', '/')))
        {
            if (char.IsAsciiLetterOrDigit(letter) || letter is '_' or '-')
                plain.Append(letter);
            else if (plain.Length > 0 && plain[^1] != '-')
                plain.Append('-');
            if (plain.Length == MaxNameLetters)
                break;
        }

        string name = plain.ToString().Trim('-');
        return name.Length == 0 ? "clip" : name;
    }
}
