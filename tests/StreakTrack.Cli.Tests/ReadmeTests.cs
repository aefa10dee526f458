using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Cli.Tests;

public class ReadmeTests
{
    [Fact]
    public void The_library_example_of_the_readme_compiles_and_runs()
    {
        string clipPath = Fixtures.PathOf("clips", "switchon_720p30", "clip.mp4");
        string marksPath = Fixtures.PathOf("clips", "switchon_720p30", "marks.csv");

        // <example>
        IReadOnlyList<RulerMark> marks = MarksCsv.Read(marksPath);
        var options = new AnalysisOptions { Model = "auto", FrequencyHz = 38.9, DistanceMm = 1150 };
        ClipAnalysis analysis = ClipAnalyzer.Analyze(clipPath, marks, options);

        foreach (AmplitudeSample sample in analysis.Series.Where(s => s.IsUsable))
            Console.WriteLine($"{sample.TimeSeconds} s  {sample.AmplitudeMm} mm  {sample.AmplitudeUncertaintyMm} mm");
        if (analysis.Record.Result.Fit is FitRecord fit && fit.Parameters.TryGetValue("tau_s", out ParameterRecord? tau))
            Console.WriteLine($"tau = {tau.Value} s, u = {tau.StandardUncertainty} s; {fit.Statement}");
        File.WriteAllText("record.json", RecordJson.Write(analysis.Record));
        // </example>

        Assert.Equal("rise", analysis.Record.Result.Fit?.Model);
        string source = File.ReadAllText(Path.Combine(Fixtures.RepositoryRoot, "tests", "StreakTrack.Cli.Tests", "ReadmeTests.cs"));
        int from = source.IndexOf("// <example>\n", StringComparison.Ordinal) + "// <example>\n".Length;
        string example = source[from..source.IndexOf("        // </example>", StringComparison.Ordinal)].Replace("\n        ", "\n", StringComparison.Ordinal).Trim();
        Assert.Contains(example, File.ReadAllText(Path.Combine(Fixtures.RepositoryRoot, "README.md")), StringComparison.Ordinal);
    }
}
