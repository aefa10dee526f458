using System.Buffers.Binary;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Synthesis.Output;

/// <summary>Writes a display matrix into a finished MP4 or QuickTime file, in place.</summary>
/// <remarks>The matrix stands in the track header box after ISO/IEC 14496-12, 8.3.2; encoders write the unit matrix.</remarks>
internal static class RotationTag
{
    private const double FixedOne = 65536;

    /// <summary>Sets the matrix of the file's first track.</summary>
    /// <exception cref="IOException">The file has no track header.</exception>
    public static void Write(string path, DisplayOrientation orientation)
    {
        using var file = new FileStream(path, FileMode.Open, FileAccess.ReadWrite);
        (long start, long end) = Find(file, 0, file.Length, "moov"u8);
        (start, end) = Find(file, start, end, "trak"u8);
        (start, _) = Find(file, start, end, "tkhd"u8);

        file.Position = start;
        int version = file.ReadByte();
        file.Position = start + (version == 1 ? 52 : 40);

        // Rows of the matrix are {a b u}, {c d v}, {x y w} with u' = a x + c y + x0 and v' = b x + d y + y0.
        int[] matrix =
        [
            Fixed(orientation.XX), Fixed(orientation.YX), 0,
            Fixed(orientation.XY), Fixed(orientation.YY), 0,
            Fixed(orientation.XX + orientation.XY < 0 ? orientation.DisplayWidth : 0),
            Fixed(orientation.YX + orientation.YY < 0 ? orientation.DisplayHeight : 0),
            1 << 30,
        ];
        var bytes = new byte[36];
        for (int i = 0; i < matrix.Length; i++)
            BinaryPrimitives.WriteInt32BigEndian(bytes.AsSpan(4 * i), matrix[i]);
        file.Write(bytes);
    }

    private static int Fixed(int value) => (int)(value * FixedOne);

    /// <summary>Where the content of a box lies among the boxes of a range.</summary>
    private static (long Start, long End) Find(FileStream file, long from, long to, ReadOnlySpan<byte> type)
    {
        Span<byte> header = stackalloc byte[16];
        while (from + 8 <= to)
        {
            file.Position = from;
            file.ReadExactly(header[..8]);
            long size = BinaryPrimitives.ReadUInt32BigEndian(header);
            int headerSize = 8;
            if (size == 1)
            {
                file.ReadExactly(header[8..]);
                size = BinaryPrimitives.ReadInt64BigEndian(header[8..]);
                headerSize = 16;
            }
            else if (size == 0)
            {
                size = to - from;
            }

            if (size < headerSize)
                break;
            if (header.Slice(4, 4).SequenceEqual(type))
                return (from + headerSize, from + size);
            from += size;
        }

        throw new IOException($"{file.Name}: the encoder wrote no track header that a rotation could be put into.");
    }
}
