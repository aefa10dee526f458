using System.Text.Json;
using System.Text.Json.Nodes;
using Json.Schema;
using StreakTrack.Core.Records;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Core.Tests.Records;

/// <summary><c>docs/record.schema.json</c> describes what is written: checked by a schema library that knows nothing of the types.</summary>
public class RecordSchemaTests
{
    private static readonly string SchemaPath = Path.Combine(Fixtures.RepositoryRoot, "docs", "record.schema.json");

    [Fact]
    public void The_published_schema_is_that_of_the_types()
    {
        string expected = RecordSchema.Write(new XmlSummaries(typeof(AnalysisRecord).Assembly).Of);
        if (Environment.GetEnvironmentVariable("STREAKTRACK_WRITE_DOCS") == "1")
            File.WriteAllText(SchemaPath, expected);

        Assert.Equal(expected, File.ReadAllText(SchemaPath));
    }

    [Fact]
    public void A_record_as_written_fits_the_schema_and_has_no_member_that_the_schema_does_not_name()
    {
        JsonNode schema = JsonNode.Parse(File.ReadAllText(SchemaPath))!;
        Close(schema);

        Assert.Equal([], Faults(schema, JsonNode.Parse(RecordJson.Write(FilledRecord.Make()))!));
    }

    [Fact]
    public void Every_property_of_the_schema_is_described()
    {
        var nameless = new List<string>();
        Walk(JsonNode.Parse(File.ReadAllText(SchemaPath))!, "");
        Assert.Empty(nameless);

        void Walk(JsonNode? node, string place)
        {
            if (node is not JsonObject schema)
                return;
            foreach ((string name, JsonNode? property) in schema["properties"] as JsonObject ?? [])
            {
                if (property?["description"] is null && property?["$ref"] is null)
                    nameless.Add(place + name);
                Walk(property, place + name + ".");
            }

            Walk(schema["items"], place);
            Walk(schema["additionalProperties"], place);
        }
    }

    [Theory]
    [InlineData("result", "fit", "converged")]
    [InlineData("options", "model")]
    [InlineData("marks", "0", "u_px")]
    [InlineData("clip", "sha256")]
    [InlineData("record_version")]
    public void A_member_of_a_wrong_kind_does_not_fit(params string[] path)
    {
        JsonNode record = JsonNode.Parse(RecordJson.Write(FilledRecord.Make()))!;
        JsonNode at = record;
        foreach (string step in path[..^1])
            at = at is JsonArray array ? array[int.Parse(step, System.Globalization.CultureInfo.InvariantCulture)]! : at[step]!;
        at[path[^1]] = new JsonArray("no such thing");

        Assert.NotEmpty(Faults(JsonNode.Parse(File.ReadAllText(SchemaPath))!, record));
    }

    private static List<string> Faults(JsonNode schema, JsonNode record)
    {
        EvaluationResults results = JsonSchema.FromText(schema.ToJsonString()).Evaluate(
            JsonSerializer.SerializeToElement(record), new EvaluationOptions { OutputFormat = OutputFormat.List });
        return results.IsValid
            ? []
            : [.. (results.Details ?? []).Append(results).Where(d => !d.IsValid).Select(d => $"{d.InstanceLocation}: {string.Join("; ", d.Errors?.Values.AsEnumerable() ?? [])}")];
    }

    // The published schema lets unknown members pass; here none may.
    private static void Close(JsonNode? node)
    {
        if (node is JsonArray array)
        {
            foreach (JsonNode? item in array)
                Close(item);
        }

        if (node is not JsonObject schema)
            return;
        if (schema["properties"] is JsonObject && schema["additionalProperties"] is null)
            schema["additionalProperties"] = false;
        foreach ((string _, JsonNode? child) in schema.ToList())
            Close(child);
    }
}
