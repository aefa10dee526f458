using System.Diagnostics;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Worksheet.Browser;

/// <summary>The page's own code.</summary>
public sealed class PageCodeTests
{
    [Fact]
    public async Task Its_types_fit_together()
    {
        string folder = Path.Combine(Fixtures.RepositoryRoot, "tests", "StreakTrack.Worksheet.Browser");
        var start = new ProcessStartInfo("node", [Path.Combine(folder, "node_modules", "typescript", "bin", "tsc"), "-p", folder, "--listFiles"])
        {
            RedirectStandardOutput = true,
        };
        using Process checker = Process.Start(start)!;
        string said = await checker.StandardOutput.ReadToEndAsync();
        await checker.WaitForExitAsync();
        Assert.True(checker.ExitCode == 0, said);

        // Every module was among what was checked.
        string page = Path.Combine(Fixtures.RepositoryRoot, "src", "StreakTrack.Worksheet", "Page");
        IEnumerable<string> own = Directory.EnumerateFiles(page, "*.js", SearchOption.AllDirectories)
            .Where(f => !f.Contains("vendor", StringComparison.Ordinal)).Select(f => Path.GetRelativePath(page, f));
        Assert.All(own, module => Assert.Contains(module, said, StringComparison.Ordinal));
    }
}
