namespace StreakTrack.Imaging.Tests.Clips;

/// <summary>A folder that goes with its test.</summary>
internal sealed class TemporaryFolder : IDisposable
{
    private readonly string _path = Directory.CreateTempSubdirectory("streaktrack-test-").FullName;

    /// <summary>Path of a file in it.</summary>
    public string this[string name] => Path.Combine(_path, name);

    /// <summary>Writes a file and gives its path.</summary>
    public string Write(string name, ReadOnlySpan<byte> content)
    {
        File.WriteAllBytes(this[name], content);
        return this[name];
    }

    public void Dispose() => Directory.Delete(_path, recursive: true);
}
