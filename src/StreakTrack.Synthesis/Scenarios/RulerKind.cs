using System.Text.Json.Serialization;

namespace StreakTrack.Synthesis.Scenarios;

/// <summary>What a simulated ruler is made of.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<RulerKind>))]
public enum RulerKind
{
    /// <summary>White plastic with dark ticks.</summary>
    [JsonStringEnumMemberName("white")]
    White,

    /// <summary>Brushed steel with dark ticks.</summary>
    [JsonStringEnumMemberName("steel")]
    Steel,

    /// <summary>An ideal white card without any print, for checking the renderer: reflectance 1 everywhere, also outside its
    /// edges.</summary>
    [JsonStringEnumMemberName("card")]
    Card,
}
