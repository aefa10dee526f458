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

    private static readonly VersionedJson Format = new(
        "reference", "reference_version", InstrumentReference.CurrentVersion, 16L << 20, $"Name the {FileName} that streaktrack reference wrote.");

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
        InstrumentReference reference = Format.Parse(
            Format.TextOf(FileOf(path)), path, document => document.Deserialize(ReferenceJsonContext.Default.InstrumentReference));
        return reference.Settings.Count > 0 && reference.Settings.All(IsUsable)
            ? reference : throw new UnusableInputException(path, "a number of the reference is missing or out of range", "Use an unchanged copy of the file.");
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
