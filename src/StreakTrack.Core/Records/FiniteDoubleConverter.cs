using System.Text.Json;
using System.Text.Json.Serialization;

namespace StreakTrack.Core.Records;

/// <summary>Writes numbers so that they read back bit for bit, and NaN or infinity as null: JSON has no word for them.</summary>
internal sealed class FiniteDoubleConverter : JsonConverter<double>
{
    public override bool HandleNull => true;

    public override double Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        reader.TokenType == JsonTokenType.Null ? double.NaN : reader.GetDouble();

    public override void Write(Utf8JsonWriter writer, double value, JsonSerializerOptions options)
    {
        if (double.IsFinite(value))
            writer.WriteNumberValue(value);
        else
            writer.WriteNullValue();
    }
}
