namespace StreakTrack.Worksheet.Tests;

/// <summary>A folder that goes when the test ends.</summary>
internal sealed class TemporaryFolder : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("streaktrack-test-");

    public string FullPath => _folder.FullName;

    public string PathOf(string name) => Path.Combine(_folder.FullName, name);

    public void Dispose() => _folder.Delete(recursive: true);
}
