using System.Text;

namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>A box of an ISO base media file.</summary>
/// <param name="Type">Its four characters.</param>
/// <param name="Start">First byte of its content.</param>
/// <param name="End">First byte after it, never beyond its parent.</param>
/// <param name="IsCut">Whether it says that it reaches beyond its parent, or beyond the file.</param>
internal readonly record struct IsoBox(uint Type, long Start, long End, bool IsCut = false)
{
    /// <summary>The number that four characters stand for.</summary>
    public static uint Code(string characters) =>
        ((uint)characters[0] << 24) | ((uint)characters[1] << 16) | ((uint)characters[2] << 8) | characters[3];

    /// <summary>Four characters, with anything unprintable replaced.</summary>
    public static string Name(uint code)
    {
        Span<byte> bytes = [(byte)(code >> 24), (byte)(code >> 16), (byte)(code >> 8), (byte)code];
        foreach (ref byte b in bytes)
            b = b is > 32 and < 127 ? b : (byte)'?';
        return Encoding.ASCII.GetString(bytes);
    }
}
