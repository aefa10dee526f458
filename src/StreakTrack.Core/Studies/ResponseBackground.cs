namespace StreakTrack.Core.Studies;

/// <summary>What lies under a resonance curve.</summary>
public enum ResponseBackground
{
    /// <summary>Nothing.</summary>
    None,

    /// <summary>A constant.</summary>
    Constant,

    /// <summary>A straight line; its constant is the value at the mean drive frequency.</summary>
    Linear,
}
