using System.Reflection;
using System.Text.Json;
using System.Text.Json.Serialization;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.References;

/// <summary>Writes and reads <c>reference.json</c>.</summary>
public static class ReferenceJson
{
    /// <summary>Name of the file in the folder of a reference.</summary>
    public const string FileName = "reference.json";

    private const long MaxBytes = 16L << 20;
    private const string NextStep = $"Name the {FileName} that streaktrack reference wrote.";

    /// <summary>The reference as JSON, ending with a line feed.</summary>
    public static string Write(InstrumentReference reference) =>
        JsonSerializer.Serialize(reference, ReferenceJsonContext.Default.InstrumentReference) + "\n";

    /// <summary>The JSON schema of the file, made from the types that are written.</summary>
    /// <param name="describe">Says what a type's property means; null for no description.</param>
    public static string Schema(Func<MemberInfo, string?> describe) => RecordSchema.Write(
        ReferenceJsonContext.Default.InstrumentReference, "StreakTrack reference", FileName, "reference_version", InstrumentReference.CurrentVersion, describe);

    /// <summary>The file of a reference, there or not.</summary>
    /// <param name="path">The file, or the folder that it lies in.</param>
    public static string FileOf(string path) => Directory.Exists(path) ? Path.Combine(path, FileName) : path;

    /// <summary>Reads a reference.</summary>
    /// <param name="path">The file, or the folder that it lies in.</param>
    /// <exception cref="UnusableInputException">It is missing, damaged, no reference, or of a newer version.</exception>
    public static InstrumentReference Read(string path)
    {
        string file = FileOf(path);
        if (!File.Exists(file))
            throw new UnusableInputException(path, "there is no such file", NextStep);
        if (new FileInfo(file).Length > MaxBytes)
            throw new UnusableInputException(path, "the file is too large for a reference", NextStep);
        try
        {
            string text = File.ReadAllText(file);
            using JsonDocument document = JsonDocument.Parse(text);
            if (document.RootElement.ValueKind != JsonValueKind.Object || !document.RootElement.TryGetProperty("reference_version", out JsonElement version)
                || version.ValueKind != JsonValueKind.Number || !version.TryGetInt32(out int number))
            {
                throw new UnusableInputException(path, "this is no StreakTrack reference", NextStep);
            }

            if (number > InstrumentReference.CurrentVersion)
                throw new UnusableInputException(path, $"the reference has version {number}, and this program reads versions up to {InstrumentReference.CurrentVersion}", "Update StreakTrack.");
            InstrumentReference reference = document.Deserialize(ReferenceJsonContext.Default.InstrumentReference)!;
            return reference.Settings.Count > 0 && reference.Settings.All(IsUsable)
                ? reference : throw new UnusableInputException(path, "a number of the reference is missing or out of range", "Use an unchanged copy of the file.");
        }
        catch (JsonException e)
        {
            throw new UnusableInputException(path, $"the reference is damaged{(e.LineNumber is long line ? $" in line {line + 1}" : "")}{(e.Path is { Length: > 0 } at ? $" at {at}" : "")}",
                "Use an unchanged copy of the file.", e);
        }
    }

    private static bool IsUsable(ReferenceSetting s) =>
        s.TauS.Value > 0 && double.IsFinite(s.TauS.Value) && s.ToleranceStandardUncertaintyS > 0 && double.IsFinite(s.ToleranceStandardUncertaintyS)
        && s.CoverageFactor > 0 && double.IsFinite(s.CoverageFactor) && s.ToleranceTauS.Count == 2;
}

[JsonSourceGenerationOptions(
    PropertyNamingPolicy = JsonKnownNamingPolicy.SnakeCaseLower, WriteIndented = true, NewLine = "\n", UseStringEnumConverter = true,
    RespectNullableAnnotations = true, RespectRequiredConstructorParameters = true, UnmappedMemberHandling = JsonUnmappedMemberHandling.Skip,
    Converters = [typeof(FiniteDoubleConverter), typeof(FindingSeverityConverter)])]
[JsonSerializable(typeof(InstrumentReference))]
internal sealed partial class ReferenceJsonContext : JsonSerializerContext;
