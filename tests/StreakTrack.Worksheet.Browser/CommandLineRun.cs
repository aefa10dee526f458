using System.Text.Json.Nodes;
using StreakTrack.Cli;

namespace StreakTrack.Worksheet.Browser;

/// <summary>The same analysis by the command line.</summary>
internal static class CommandLineRun
{
    /// <summary>Repeats a record's analysis and returns the record that comes out.</summary>
    public static async Task<JsonObject> RepeatAsync(string clip, string record)
    {
        DirectoryInfo folder = Directory.CreateTempSubdirectory("streaktrack-again-");
        try
        {
            string path = Path.Combine(folder.FullName, "handed-in.json");
            await File.WriteAllTextAsync(path, record);
            using var output = new StringWriter();
            using var error = new StringWriter();
            int code = await CommandLine.RunAsync(
                ["analyze", clip, "--record", path, "--out", Path.Combine(folder.FullName, "again"), "--json"], new CommandStreams(output, error));
            Assert.True(code == 0, error.ToString());
            return JsonNode.Parse(output.ToString())!.AsObject();
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }
}
