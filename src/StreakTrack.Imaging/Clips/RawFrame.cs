namespace StreakTrack.Imaging.Clips;

/// <summary>One decoded frame, or the wanted region of it, as the decoder gives it. The buffers are reused: a reader fills the same
/// object again and again, so a frame is only valid until the next read.</summary>
public sealed class RawFrame
{
    /// <summary>Position of the frame in the clip, from 0, in presentation order.</summary>
    public int Index { get; set; }

    /// <summary>Presentation time from the container, in s; equal to what the container says, start offset included.</summary>
    public double TimeSeconds { get; set; }

    /// <summary>The region of the coded picture that the samples cover.</summary>
    public PixelRegion Region { get; set; }

    /// <summary>How the samples are laid out.</summary>
    public PlaneLayout Layout { get; set; }

    /// <summary>Bits per sample: 8 or 10 (stored in 16-bit words when above 8).</summary>
    public int BitDepth { get; set; } = 8;

    /// <summary>First plane: Y', or interleaved B'G'R' for <see cref="PlaneLayout.Bgr24"/>. Row by row without padding; little-endian
    /// 16-bit words when <see cref="BitDepth"/> is above 8.</summary>
    public byte[] Plane0 { get; set; } = [];

    /// <summary>Second plane: Cb; empty for layouts without it.</summary>
    public byte[] Plane1 { get; set; } = [];

    /// <summary>Third plane: Cr; empty for layouts without it.</summary>
    public byte[] Plane2 { get; set; } = [];
}
