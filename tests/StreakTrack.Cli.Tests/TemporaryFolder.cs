namespace StreakTrack.Cli.Tests;

/// <summary>A folder that goes when the test ends.</summary>
internal sealed class TemporaryFolder : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("streaktrack-test-");

    public string PathOf(string name) => Path.Combine(_folder.FullName, name);

    /// <summary>Writes a text file and returns its path.</summary>
    public string WithFile(string name, string text)
    {
        string path = PathOf(name);
        File.WriteAllText(path, text);
        return path;
    }

    public void Dispose() => _folder.Delete(recursive: true);
}
