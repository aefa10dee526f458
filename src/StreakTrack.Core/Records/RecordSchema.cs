using System.Reflection;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Schema;
using System.Text.Json.Serialization.Metadata;
using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Records;

/// <summary>The JSON schema of the record, made from the types that are written, so that the two cannot drift apart.</summary>
/// <remarks>Members that the schema does not know are allowed, as they are when a record is read: a field that older programs may ignore does not
/// raise the record's version.</remarks>
public static class RecordSchema
{
    private const string Dialect = "https://json-schema.org/draft/2020-12/schema";

    private static readonly JsonSerializerOptions Layout = new()
    {
        WriteIndented = true,
        NewLine = "\n",
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,   // the file is read as it is and not put into a page
    };

    /// <summary>The record's schema as JSON text, ending with a line feed.</summary>
    /// <param name="describe">Says what a type's property means; null for no description.</param>
    public static string Write(Func<MemberInfo, string?> describe) => Write(
        RecordJsonContext.Default.AnalysisRecord, "StreakTrack record", "record.json", "record_version", AnalysisRecord.CurrentVersion, describe);

    /// <summary>The schema of a file that is written from a type.</summary>
    /// <param name="type">The type.</param>
    /// <param name="title">Title of the schema.</param>
    /// <param name="file">Name of the file.</param>
    /// <param name="versionKey">Name of the member with the layout's version.</param>
    /// <param name="version">That version.</param>
    /// <param name="describe">Says what a type's property means; null for no description.</param>
    internal static string Write(JsonTypeInfo type, string title, string file, string versionKey, int version, Func<MemberInfo, string?> describe)
    {
        ArgumentNullException.ThrowIfNull(describe);
        JsonNode schema = type.GetJsonSchemaAsNode(new JsonSchemaExporterOptions
        {
            TreatNullObliviousAsNonNullable = true,
            TransformSchemaNode = (context, node) => Transform(context, node, describe),
        });
        var top = new JsonObject
        {
            ["$schema"] = Dialect,
            ["title"] = title,
            ["description"] = $"What streaktrack writes as {file}, version {version}. The unit of a number stands at the end of its name.",
        };
        foreach ((string name, JsonNode? value) in schema.AsObject().ToList())
            top[name] = value?.DeepClone();
        top["properties"]![versionKey]!["const"] = version;
        return top.ToJsonString(Layout) + "\n";
    }

    private static JsonObject Transform(JsonSchemaExporterContext context, JsonNode node, Func<MemberInfo, string?> describe)
    {
        JsonObject schema = OfConverter(context.TypeInfo.Type) ?? node as JsonObject ?? [];
        if (context.PropertyInfo?.AttributeProvider is MemberInfo member && describe(member) is string description)
            schema.Insert(0, "description", description);
        return schema;
    }

    // What the converters of the record do is not known to the exporter.
    private static JsonObject? OfConverter(Type type)
    {
        if (type == typeof(double) || type == typeof(double?))
            return new JsonObject { ["type"] = new JsonArray("number", "null") };
        if (type == typeof(FindingSeverity))
            return new JsonObject { ["enum"] = new JsonArray([.. Enum.GetNames<FindingSeverity>().Select(n => JsonNamingPolicy.KebabCaseLower.ConvertName(n))]) };
        return null;
    }
}
