using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using StreakTrack.Core.Series;

namespace StreakTrack.Reporting.Tests;

public class DataPackageTests
{
    private static readonly string Csv = SeriesCsv.Write(Samples.Series);

    private static JsonElement Resource(string csv)
    {
        using JsonDocument document = JsonDocument.Parse(DataPackage.Describe(Samples.Record, csv));
        return document.RootElement.GetProperty("resources")[0].Clone();
    }

    [Fact]
    public void Fields_are_the_columns_of_the_file_in_their_order()
    {
        JsonElement[] fields = [.. Resource(Csv).GetProperty("schema").GetProperty("fields").EnumerateArray()];
        Assert.Equal(Csv.Split("\r\n")[0].Split(','), fields.Select(f => f.GetProperty("name").GetString()));

        // A unit in the name is told in the description.
        Assert.All(fields.Where(f => f.GetProperty("name").GetString()!.EndsWith("_mm", StringComparison.Ordinal)),
            f => Assert.EndsWith("Unit: mm.", f.GetProperty("description").GetString(), StringComparison.Ordinal));
    }

    // Types and what they allow: Table Schema, version 1: integer, number (with INF and NaN, which we never write), string.
    [Fact]
    public void Every_cell_is_of_its_column_s_type_or_missing()
    {
        JsonElement schema = Resource(Csv).GetProperty("schema");
        string[] types = [.. schema.GetProperty("fields").EnumerateArray().Select(f => f.GetProperty("type").GetString()!)];
        string[] missing = [.. schema.GetProperty("missingValues").EnumerateArray().Select(v => v.GetString()!)];
        foreach (string[] row in Csv.Split("\r\n", StringSplitOptions.RemoveEmptyEntries).Skip(1).Select(line => line.Split(',')))
        {
            Assert.Equal(types.Length, row.Length);
            Assert.All(row.Zip(types), cell => Assert.True(missing.Contains(cell.First) || cell.Second switch
            {
                "integer" => cell.First.All(char.IsAsciiDigit),
                "number" => JsonElement.Parse(cell.First.ToLowerInvariant()).ValueKind == JsonValueKind.Number,
                _ => true,
            }));
        }
    }

    [Fact]
    public void Size_and_hash_are_those_of_the_file()
    {
        byte[] file = Encoding.UTF8.GetBytes(Csv);
        JsonElement resource = Resource(Csv);
        Assert.Equal(file.Length, resource.GetProperty("bytes").GetInt32());
        Assert.Equal("sha256:" + Convert.ToHexString(SHA256.HashData(file)).ToLowerInvariant(), resource.GetProperty("hash").GetString());
    }

    // Data Package, version 1: names are lower-case letters, digits and "-", "_", "."; paths are relative; profiles have these names.
    [Fact]
    public void Names_path_and_profiles_are_those_of_the_specification()
    {
        using JsonDocument document = JsonDocument.Parse(DataPackage.Describe(Samples.Record, Csv));
        JsonElement resource = Resource(Csv);
        Assert.Matches("^[a-z0-9._-]+$", document.RootElement.GetProperty("name").GetString());
        Assert.Matches("^[a-z0-9._-]+$", resource.GetProperty("name").GetString());
        Assert.Equal("tabular-data-package", document.RootElement.GetProperty("profile").GetString());
        Assert.Equal("tabular-data-resource", resource.GetProperty("profile").GetString());
        Assert.Equal("series.csv", resource.GetProperty("path").GetString());
        Assert.Equal("\r\n", resource.GetProperty("dialect").GetProperty("lineTerminator").GetString());
    }

    [Fact]
    public void An_unknown_column_is_refused() =>
        Assert.Throws<ArgumentException>(() => DataPackage.Describe(Samples.Record, "frame,colour\r\n0,red\r\n"));
}
