namespace StreakTrack.Imaging.Clips;

/// <summary>Luma weights in use for video.</summary>
public enum ColourMatrix
{
    /// <summary>ITU-R BT.601: 0.299, 0.587, 0.114.</summary>
    Bt601,

    /// <summary>ITU-R BT.709: 0.2126, 0.7152, 0.0722.</summary>
    Bt709,

    /// <summary>ITU-R BT.2020, non-constant luminance: 0.2627, 0.6780, 0.0593.</summary>
    Bt2020,
}
