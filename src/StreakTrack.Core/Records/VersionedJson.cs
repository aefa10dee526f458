using System.Text.Json;

namespace StreakTrack.Core.Records;

/// <summary>Reads a JSON file that names its version, and says what is wrong with it in words.</summary>
/// <param name="Kind">What the file is called in messages: record, reference.</param>
/// <param name="VersionKey">Key of its version.</param>
/// <param name="CurrentVersion">Newest version that this program reads.</param>
/// <param name="MaxBytes">A larger file is not one of ours, in bytes.</param>
/// <param name="NextStep">What to do about a file that is none of this kind.</param>
internal sealed record VersionedJson(string Kind, string VersionKey, int CurrentVersion, long MaxBytes, string NextStep)
{
    private const string Unchanged = "Use an unchanged copy of the file.";

    // Of a key that is there twice, two programs may take different values.
    private static readonly JsonDocumentOptions NoKeyTwice = new() { AllowDuplicateProperties = false };

    /// <summary>The text of a file.</summary>
    /// <param name="path">The file.</param>
    /// <exception cref="UnusableInputException">It is missing or too large.</exception>
    public string TextOf(string path)
    {
        var file = new FileInfo(path);
        if (!file.Exists)
            throw new UnusableInputException(path, "there is no such file", NextStep);
        return file.Length <= MaxBytes ? File.ReadAllText(path)
            : throw new UnusableInputException(path, $"the file is too large for a {Kind}", NextStep);
    }

    /// <summary>Reads a text.</summary>
    /// <param name="json">The text.</param>
    /// <param name="subject">What to call it in messages.</param>
    /// <param name="read">Makes the object of the document; a <see cref="JsonException"/> says that it is damaged.</param>
    /// <exception cref="UnusableInputException">It is no such file, is damaged, or was written by a newer version.</exception>
    public T Parse<T>(string json, string subject, Func<JsonDocument, T?> read)
        where T : class
    {
        try
        {
            // The version is looked at first: a newer layout may not even fit the types.
            using JsonDocument document = JsonDocument.Parse(json, NoKeyTwice);
            if (document.RootElement.ValueKind != JsonValueKind.Object || !document.RootElement.TryGetProperty(VersionKey, out JsonElement version)
                || version.ValueKind != JsonValueKind.Number || !version.TryGetInt32(out int number))
            {
                throw new UnusableInputException(subject, $"this is no StreakTrack {Kind}", NextStep);
            }

            return number > CurrentVersion
                ? throw new UnusableInputException(subject, $"the {Kind} has version {number}, and this program reads versions up to {CurrentVersion}", "Update StreakTrack.")
                : read(document) ?? throw new UnusableInputException(subject, $"the {Kind} is empty", NextStep);
        }
        catch (JsonException e)
        {
            string place = e.LineNumber is long line ? $" in line {line + 1}" : "";
            string path = e.Path is { Length: > 0 } ? $" at {e.Path}" : "";
            throw new UnusableInputException(subject, $"the {Kind} is damaged{place}{path}", Unchanged, e);
        }
    }
}
