namespace StreakTrack.Imaging.Clips;

/// <summary>Function from light to code value.</summary>
public enum TransferFunction
{
    /// <summary>ITU-R BT.709; BT.601 and BT.2020 use the same curve.</summary>
    Bt709,

    /// <summary>IEC 61966-2-1, usual in still pictures.</summary>
    Srgb,

    /// <summary>Hybrid log-gamma, ITU-R BT.2100.</summary>
    Hlg,

    /// <summary>Perceptual quantiser, ITU-R BT.2100 / SMPTE ST 2084.</summary>
    Pq,

    /// <summary>Code proportional to light.</summary>
    Linear,
}
