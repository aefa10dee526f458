using System.Text.Json;
using System.Text.Json.Serialization;
using StreakTrack.Core.Records;

namespace StreakTrack.Worksheet.Serving;

/// <summary>JSON as the page speaks it: names as in the record, missing numbers as null.</summary>
internal static class JsonText
{
    /// <summary>How it is written and read.</summary>
    public static JsonSerializerOptions Options { get; } = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.SnakeCaseLower,
        DictionaryKeyPolicy = null,
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        Converters = { new FiniteDoubleConverter(), new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    /// <summary>Writes a value on one line.</summary>
    public static string Write(object value) => JsonSerializer.Serialize(value, value.GetType(), Options);
}
