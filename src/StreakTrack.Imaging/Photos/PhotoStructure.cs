using System.Buffers.Binary;
using System.IO.Compression;

namespace StreakTrack.Imaging.Photos;

/// <summary>Looks whether the bytes of a photograph are all there, before any decoder sees them: decoders fill up what is missing, and a streak
/// would be measured in it.</summary>
internal static class PhotoStructure
{
    private const int JpegMarkerBytes = 2;

    private static ReadOnlySpan<byte> PngSignature => [0x89, (byte)'P', (byte)'N', (byte)'G', 0x0D, 0x0A, 0x1A, 0x0A];

    /// <summary>JPEG or PNG by the first bytes; null for anything else.</summary>
    public static string? FormatOf(ReadOnlySpan<byte> file) =>
        file.StartsWith(PngSignature) ? "PNG" : file.Length > 3 && file[0] == 0xFF && file[1] == 0xD8 && file[2] == 0xFF ? "JPEG" : null;

    /// <summary>Whether the picture goes on to its end mark (ITU-T T.81, B.1.1.2; PNG specification, 11.2.5).</summary>
    public static bool IsComplete(ReadOnlySpan<byte> file, string format) => format == "PNG" ? PngEnds(file) : JpegEnds(file);

    /// <summary>A PNG file without what is not needed to show it: texts, colour profiles and the like are compressed, and a small file could hold
    /// gigabytes of them.</summary>
    /// <param name="file">The file, which is complete.</param>
    public static byte[] WithoutExtras(ReadOnlySpan<byte> file)
    {
        using var kept = new MemoryStream(file.Length);
        kept.Write(PngSignature);
        for (int at = PngSignature.Length; at < file.Length;)
        {
            int length = PngChunk(file, at, out ReadOnlySpan<byte> name, out _);
            bool needed = (name[0] & 0x20) == 0 || name.SequenceEqual("tRNS"u8) || name.SequenceEqual("gAMA"u8) || name.SequenceEqual("eXIf"u8);
            if (needed)
                kept.Write(file.Slice(at, length));
            at += length;
            if (name.SequenceEqual("IEND"u8))
                break;
        }

        return kept.ToArray();
    }

    /// <summary>Whether the compressed data of a PNG file are a whole picture; a decoder leaves black what is missing.</summary>
    /// <param name="file">The file, which is complete.</param>
    public static bool HasWholePicture(ReadOnlySpan<byte> file)
    {
        using var data = new MemoryStream();
        long width = 0, height = 0, bits = 0;
        bool interlaced = false;
        for (int at = PngSignature.Length; at < file.Length;)
        {
            int length = PngChunk(file, at, out ReadOnlySpan<byte> name, out ReadOnlySpan<byte> content);
            if (name.SequenceEqual("IHDR"u8) && content.Length >= 13)
            {
                (width, height) = (BinaryPrimitives.ReadUInt32BigEndian(content), BinaryPrimitives.ReadUInt32BigEndian(content[4..]));
                int samples = content[9] switch { 2 => 3, 4 => 2, 6 => 4, _ => 1 };
                (bits, interlaced) = (samples * content[8], content[12] == 1);
            }
            else if (name.SequenceEqual("IDAT"u8))
            {
                data.Write(content);
            }

            at += length;
        }

        // PNG specification, 8.2: where the seven passes begin, and their steps.
        ReadOnlySpan<(int X, int Y, int StepX, int StepY)> passes = interlaced
            ? [(0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2)] : [(0, 0, 1, 1)];
        long expected = 0;
        foreach ((int x, int y, int stepX, int stepY) in passes)
        {
            long columns = (width - x + stepX - 1) / stepX, rows = (height - y + stepY - 1) / stepY;
            expected += columns > 0 && rows > 0 ? rows * (1 + ((columns * bits + 7) / 8)) : 0;
        }

        data.Position = 0;
        byte[] buffer = new byte[1 << 16];
        long found = 0;
        try
        {
            using var inflated = new ZLibStream(data, CompressionMode.Decompress);
            for (int count; found < expected && (count = inflated.Read(buffer)) > 0;)
                found += count;
        }
        catch (InvalidDataException)
        {
            return false;
        }

        return expected > 0 && found >= expected;
    }

    // Length of a chunk with its frame. What reaches beyond the file is cut off there.
    private static int PngChunk(ReadOnlySpan<byte> file, int at, out ReadOnlySpan<byte> name, out ReadOnlySpan<byte> content)
    {
        const int lengthAndName = 8, checksum = 4;
        if (file.Length - at < lengthAndName + checksum)
        {
            name = "IEND"u8;
            content = [];
            return file.Length - at;
        }

        uint length = Math.Min(BinaryPrimitives.ReadUInt32BigEndian(file[at..]), (uint)(file.Length - at - lengthAndName - checksum));
        name = file.Slice(at + 4, 4);
        content = file.Slice(at + lengthAndName, (int)length);
        return (int)length + lengthAndName + checksum;
    }

    private static bool PngEnds(ReadOnlySpan<byte> file)
    {
        const int lengthAndName = 8, checksum = 4;
        for (long at = PngSignature.Length; at + lengthAndName + checksum <= file.Length;)
        {
            uint length = BinaryPrimitives.ReadUInt32BigEndian(file[(int)at..]);
            if (file.Slice((int)at + 4, 4).SequenceEqual("IEND"u8))
                return true;
            at += lengthAndName + (long)length + checksum;
        }

        return false;
    }

    private static bool JpegEnds(ReadOnlySpan<byte> file)
    {
        const byte endOfImage = 0xD9, startOfScan = 0xDA, firstRestart = 0xD0, lastRestart = 0xD7, temporary = 0x01;
        bool scanned = false;
        int at = JpegMarkerBytes;
        while (at + JpegMarkerBytes <= file.Length)
        {
            if (file[at] != 0xFF)
            {
                // Coded data, of which a marker follows on FF unless a zero is stuffed behind it.
                int next = file[at..].IndexOf((byte)0xFF);
                if (next < 0)
                    return false;
                at += next;
                continue;
            }

            byte marker = file[at + 1];
            if (marker == endOfImage)
                return scanned;
            if (marker is 0x00 or temporary or (>= firstRestart and <= lastRestart))
            {
                at += JpegMarkerBytes;
                continue;
            }

            if (marker == 0xFF)
            {
                at++;
                continue;
            }

            if (at + 4 > file.Length)
                return false;
            scanned |= marker == startOfScan;
            at += JpegMarkerBytes + Math.Max(2, (int)BinaryPrimitives.ReadUInt16BigEndian(file[(at + 2)..]));
        }

        return false;
    }
}
