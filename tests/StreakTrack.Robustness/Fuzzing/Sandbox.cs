namespace StreakTrack.Robustness.Fuzzing;

/// <summary>A folder of its own for a run: inputs, an output folder, a place for temporary files, and files that nobody may touch.</summary>
internal sealed class Sandbox : IDisposable
{
    private readonly DirectoryInfo _root = Directory.CreateTempSubdirectory("streaktrack-robustness-");
    private readonly string? _temporaryBefore = Environment.GetEnvironmentVariable("TMPDIR");
    private readonly Dictionary<string, (long Bytes, DateTime Written)> _before;

    public Sandbox()
    {
        foreach (string folder in new[] { "in", "out", "tmp", "elsewhere" })
            _root.CreateSubdirectory(folder);
        File.WriteAllText(PathOf("elsewhere/kept.txt"), "kept\n");
        File.WriteAllText(PathOf("record.json"), "kept\n");
        Environment.SetEnvironmentVariable("TMPDIR", PathOf("tmp"));
        _before = Files();
    }

    public string Out => PathOf("out");

    public string PathOf(string name) => Path.Combine(_root.FullName, name);

    public string Write(string name, byte[] content)
    {
        string path = PathOf("in/" + name);
        File.WriteAllBytes(path, content);
        return path;
    }

    /// <summary>Files that came, went or changed outside the output and input folders; temporary files that were left.</summary>
    public IReadOnlyList<string> Strays()
    {
        Dictionary<string, (long Bytes, DateTime Written)> now = Files();
        return [.. now.Keys.Union(_before.Keys).Where(path => !now.TryGetValue(path, out var a) || !_before.TryGetValue(path, out var b) || a != b)];
    }

    public void Dispose()
    {
        Environment.SetEnvironmentVariable("TMPDIR", _temporaryBefore);
        _root.Delete(recursive: true);
    }

    private Dictionary<string, (long Bytes, DateTime Written)> Files() =>
        _root.EnumerateFiles("*", SearchOption.AllDirectories)
            .Where(file => !file.FullName.StartsWith(PathOf("in") + "/", StringComparison.Ordinal)
                && !file.FullName.StartsWith(Out + "/", StringComparison.Ordinal))
            .ToDictionary(file => file.FullName, file => (file.Length, file.LastWriteTimeUtc));
}
