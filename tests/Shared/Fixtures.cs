namespace StreakTrack.Tests.Shared;

/// <summary>Finds the repository's <c>fixtures/</c> folder from wherever the tests run.</summary>
internal static class Fixtures
{
    /// <summary>The repository's top folder: the one that holds <c>StreakTrack.sln</c>.</summary>
    public static string RepositoryRoot { get; } = FindRepositoryRoot();

    /// <summary>The path of a file below <c>fixtures/</c>; throws when it is not there, so that no test passes for want of its data.</summary>
    public static string PathOf(params string[] parts)
    {
        string path = Path.Combine([RepositoryRoot, "fixtures", .. parts]);
        return File.Exists(path) || Directory.Exists(path) ? path : throw new FileNotFoundException("Fixture not found.", path);
    }

    private static string FindRepositoryRoot()
    {
        for (DirectoryInfo? folder = new(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "StreakTrack.sln")))
                return folder.FullName;
        }

        throw new DirectoryNotFoundException("No StreakTrack.sln above " + AppContext.BaseDirectory);
    }
}
