namespace StreakTrack.Imaging.Clips;

/// <summary>How a <see cref="RawFrame"/>'s samples are laid out.</summary>
public enum PlaneLayout
{
    /// <summary>One brightness plane only.</summary>
    Luma,

    /// <summary>Y', Cb, Cr planes, colour at half resolution in both directions.</summary>
    Yuv420,

    /// <summary>Y', Cb, Cr planes, colour at half resolution along the rows.</summary>
    Yuv422,

    /// <summary>Y', Cb, Cr planes, all at full resolution.</summary>
    Yuv444,

    /// <summary>One plane of interleaved blue, green, red samples of 8 bits, in full range, made from Y'CbCr by a decoder that took all
    /// pictures for BT.601. For this layout <see cref="ColourDescription.Matrix"/> is the matrix that should have been used, and
    /// <see cref="ColourDescription.FullRange"/> says that full range samples were taken for limited ones.</summary>
    Bgr24,
}
