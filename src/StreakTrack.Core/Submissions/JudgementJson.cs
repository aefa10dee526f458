using System.Text.Json;
using System.Text.Json.Serialization;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.Submissions;

/// <summary>Writes and reads what was found out about a submission.</summary>
public static class JudgementJson
{
    /// <summary>The judgement as JSON, ending with a line feed.</summary>
    public static string Write(Judgement judgement) => JsonSerializer.Serialize(judgement, JudgementJsonContext.Default.Judgement) + "\n";

    /// <summary>Reads one; null when the file is missing or damaged, so that the work is done again.</summary>
    public static Judgement? TryRead(string path)
    {
        try
        {
            return JsonSerializer.Deserialize(File.ReadAllText(path), JudgementJsonContext.Default.Judgement);
        }
        catch (Exception e) when (e is IOException or JsonException or UnauthorizedAccessException)
        {
            return null;
        }
    }
}

[JsonSourceGenerationOptions(
    PropertyNamingPolicy = JsonKnownNamingPolicy.SnakeCaseLower, WriteIndented = true, NewLine = "\n", UseStringEnumConverter = true,
    Converters = [typeof(FiniteDoubleConverter), typeof(FindingSeverityConverter)])]
[JsonSerializable(typeof(Judgement))]
internal sealed partial class JudgementJsonContext : JsonSerializerContext;
