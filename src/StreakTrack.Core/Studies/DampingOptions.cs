using StreakTrack.Core.Oscillator;

namespace StreakTrack.Core.Studies;

/// <summary>Settings of a damping study.</summary>
public sealed record DampingOptions
{
    /// <summary>Name of the setting, with its unit, for messages and tables. Default "setting".</summary>
    public string SettingName { get; init; } = "setting";

    /// <summary>Which of the oscillator's frequencies the runs state. Default: the undamped one.</summary>
    public FrequencyMeaning FrequencyMeaning { get; init; } = FrequencyMeaning.Undamped;
}
