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

    /// <summary>Exchanges the contents, buffers included, with another frame.</summary>
    internal void Swap(RawFrame other)
    {
        (Index, other.Index) = (other.Index, Index);
        (TimeSeconds, other.TimeSeconds) = (other.TimeSeconds, TimeSeconds);
        (Region, other.Region) = (other.Region, Region);
        (Layout, other.Layout) = (other.Layout, Layout);
        (BitDepth, other.BitDepth) = (other.BitDepth, BitDepth);
        (Plane0, other.Plane0) = (other.Plane0, Plane0);
        (Plane1, other.Plane1) = (other.Plane1, Plane1);
        (Plane2, other.Plane2) = (other.Plane2, Plane2);
    }

    /// <summary>Makes the buffers fit a layout, keeping those that already do.</summary>
    internal void Shape(PixelRegion region, PlaneLayout layout, int bitDepth)
    {
        Region = region;
        Layout = layout;
        BitDepth = bitDepth;
        int bytes = bitDepth > 8 ? 2 : 1;
        int full = region.Width * region.Height * bytes;
        int halfWidth = (region.Width + 1) / 2;
        int colour = layout switch
        {
            PlaneLayout.Yuv420 => halfWidth * ((region.Height + 1) / 2) * bytes,
            PlaneLayout.Yuv422 => halfWidth * region.Height * bytes,
            PlaneLayout.Yuv444 => full,
            _ => 0,
        };
        Plane0 = Sized(Plane0, layout == PlaneLayout.Bgr24 ? 3 * full : full);
        Plane1 = Sized(Plane1, colour);
        Plane2 = Sized(Plane2, colour);

        static byte[] Sized(byte[] buffer, int length) => buffer.Length == length ? buffer : new byte[length];
    }
}
