namespace StreakTrack.Imaging.Clips;

/// <summary>The part of the light that is looked at.</summary>
public enum LightChannel
{
    /// <summary>The red primary.</summary>
    Red,

    /// <summary>The green primary.</summary>
    Green,

    /// <summary>The blue primary.</summary>
    Blue,

    /// <summary>Luma, linearised as if it were the brightness of a grey.</summary>
    Luma,
}
