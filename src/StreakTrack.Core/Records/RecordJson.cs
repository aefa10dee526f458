using System.Text.Json;
using System.Text.Json.Nodes;

namespace StreakTrack.Core.Records;

/// <summary>Writes and reads <c>record.json</c>.</summary>
public static class RecordJson
{
    private static readonly VersionedJson Format = new("record", "record_version", AnalysisRecord.CurrentVersion, 64L << 20, "Name the record.json of an analysis.");

    /// <summary>The record as UTF-8 JSON text, ending with a line feed.</summary>
    public static string Write(AnalysisRecord record) => JsonSerializer.Serialize(record, RecordJsonContext.Default.AnalysisRecord) + "\n";

    /// <summary>Reads a record file.</summary>
    /// <param name="path">The file.</param>
    /// <exception cref="UnusableInputException">The file is missing, is no record, is damaged, or was written by a newer version.</exception>
    public static AnalysisRecord Read(string path) => Parse(Format.TextOf(path), path);

    /// <summary>Reads a record from its text.</summary>
    /// <param name="json">The text.</param>
    /// <param name="subject">What to call it in messages.</param>
    /// <exception cref="UnusableInputException">The text is no record, is damaged, or was written by a newer version.</exception>
    public static AnalysisRecord Parse(string json, string subject)
    {
        AnalysisRecord record = Format.Parse(json, subject, Deserialize);
        RecordCheck.Require(record, subject);
        return record;
    }

    /// <summary>Settings with some of them changed by their names in the record.</summary>
    /// <param name="options">The settings before; those not named stay as they are.</param>
    /// <param name="changes">An object of names and values. Null takes a setting back to its default.</param>
    /// <param name="subject">What to call the changes in messages.</param>
    /// <exception cref="UnusableInputException">There is no setting of a name, a value cannot be read, or is out of its range.</exception>
    public static AnalysisOptions WithSettings(AnalysisOptions options, JsonElement changes, string subject)
    {
        JsonObject settings = ToObject(options), defaults = ToObject(new AnalysisOptions());
        if (changes.ValueKind != JsonValueKind.Object)
            throw new UnusableInputException(subject, "these are no settings", "Give names and values.");
        foreach (JsonProperty change in changes.EnumerateObject())
        {
            if (!settings.ContainsKey(change.Name))
                throw new UnusableInputException(subject, $"there is none called {change.Name}", "Use the names of the record's settings.");
            settings[change.Name] = change.Value.ValueKind == JsonValueKind.Null
                ? defaults[change.Name]?.DeepClone()
                : JsonNode.Parse(change.Value.GetRawText());
            try
            {
                options = settings.Deserialize(RecordJsonContext.Default.AnalysisOptions)!;
            }
            catch (JsonException e)
            {
                throw new UnusableInputException(
                    subject, $"{change.Name} cannot be read", "Give numbers with '.' as decimal sign, and words as the record writes them.", e);
            }
        }

        RecordCheck.Require(options, (name, problem) => new UnusableInputException(subject, $"{name} {problem}", "Correct the setting."));
        return options;
    }

    private static JsonObject ToObject(AnalysisOptions options) =>
        JsonSerializer.SerializeToNode(options, RecordJsonContext.Default.AnalysisOptions)!.AsObject();

    // The serializer leaves out the defaults of settings that a record lacks, one of an older version perhaps: a missing time scale would
    // come out as 0. So the settings of the record are laid over the defaults first.
    private static AnalysisRecord? Deserialize(JsonDocument document)
    {
        JsonObject defaults = ToObject(new AnalysisOptions());
        if (!document.RootElement.TryGetProperty("options", out JsonElement options) || options.ValueKind != JsonValueKind.Object
            || defaults.All(setting => options.TryGetProperty(setting.Key, out _)))
        {
            return document.Deserialize(RecordJsonContext.Default.AnalysisRecord);
        }

        foreach (JsonProperty setting in options.EnumerateObject())
            defaults[setting.Name] = JsonNode.Parse(setting.Value.GetRawText());
        JsonObject whole = JsonObject.Create(document.RootElement)!;
        whole["options"] = defaults;
        return whole.Deserialize(RecordJsonContext.Default.AnalysisRecord);
    }
}
