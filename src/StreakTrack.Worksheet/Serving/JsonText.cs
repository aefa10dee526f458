using System.Text.Json;
using System.Text.Json.Serialization;
using StreakTrack.Core.Records;

namespace StreakTrack.Worksheet.Serving;

/// <summary>JSON as the page speaks it: names as in the record, missing numbers as null.</summary>
internal static class JsonText
{
    private static readonly JsonSerializerOptions Writing = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.SnakeCaseLower,
        DictionaryKeyPolicy = null,
        Converters = { new FiniteDoubleConverter(), new FiniteSingleConverter(), new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    // A request that lacks something, or has something too much, comes from a page of another version.
    private static readonly JsonSerializerOptions Reading = new(Writing)
    {
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        AllowDuplicateProperties = false,
    };

    /// <summary>Writes a value on one line.</summary>
    public static string Write(object value) => JsonSerializer.Serialize(value, value.GetType(), Writing);

    /// <summary>Reads a request.</summary>
    /// <param name="body">Its text.</param>
    /// <param name="cancellationToken">The page has gone.</param>
    /// <returns>The request; null where the text says null.</returns>
    /// <exception cref="JsonException">It lacks something, has something too much, or is no JSON.</exception>
    public static ValueTask<T?> ReadAsync<T>(Stream body, CancellationToken cancellationToken) =>
        JsonSerializer.DeserializeAsync<T>(body, Reading, cancellationToken);

    // The record has no single precision; the light along a band has, and none where the band leaves the picture.
    private sealed class FiniteSingleConverter : JsonConverter<float>
    {
        public override float Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => reader.GetSingle();

        public override void Write(Utf8JsonWriter writer, float value, JsonSerializerOptions options)
        {
            if (float.IsFinite(value))
                writer.WriteNumberValue(value);
            else
                writer.WriteNullValue();
        }
    }
}
