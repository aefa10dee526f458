using System.Text.Json;

namespace StreakTrack.Grading.Studies;

/// <summary>Keeps what a step measured in a file, so that steps can be done on different occasions.</summary>
internal static class KeptStep
{
    private static readonly JsonSerializerOptions Layout = new() { WriteIndented = true, IgnoreReadOnlyProperties = true };

    /// <summary>Does a step and keeps what came of it.</summary>
    public static async Task<T> DoAsync<T>(string work, string step, Func<Task<T>> measure)
    {
        T found = await measure();
        File.WriteAllText(PathOf(work, step), JsonSerializer.Serialize(found, Layout));
        return found;
    }

    /// <summary>What came of a step that was done before.</summary>
    /// <exception cref="FileNotFoundException">It was not done.</exception>
    public static T Read<T>(string work, string step) => JsonSerializer.Deserialize<T>(File.ReadAllText(PathOf(work, step)), Layout)!;

    private static string PathOf(string work, string step) => Path.Combine(work, step + ".json");
}
