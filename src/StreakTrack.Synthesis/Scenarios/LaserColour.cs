using System.Text.Json.Serialization;

namespace StreakTrack.Synthesis.Scenarios;

/// <summary>Colour of the beam.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<LaserColour>))]
public enum LaserColour
{
    /// <summary>Red, as of a 650 nm diode.</summary>
    [JsonStringEnumMemberName("red")]
    Red,

    /// <summary>Green, as of a 532 nm module.</summary>
    [JsonStringEnumMemberName("green")]
    Green,
}
