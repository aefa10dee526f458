using System.Buffers.Binary;
using System.IO.Compression;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats.Png;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core;
using StreakTrack.Imaging.Photos;

namespace StreakTrack.Imaging.Tests.Photos;

/// <summary>Files that claim to be photographs.</summary>
public class PhotoFileTests
{
    [Fact]
    public void A_picture_that_would_take_gigabytes_is_refused_by_its_size()
    {
        UnusableInputException refusal = Assert.Throws<UnusableInputException>(() => PhotoFile.Inspect("p.png", Png(60_000, 60_000, [], new byte[100])));

        Assert.Contains("60000 x 60000", refusal.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("zTXt", "Comment\0\0")]
    [InlineData("iCCP", "x\0\0")]
    public void A_small_file_that_holds_gigabytes_beside_its_picture_takes_no_memory_for_them(string chunk, string head)
    {
        // 400 MB of zeros, well beyond what is allowed below.
        byte[] zeros = Compressed(new byte[1 << 20], 400);
        byte[] file = Png(64, 48, Chunk(chunk, [.. System.Text.Encoding.Latin1.GetBytes(head), .. zeros]), new byte[48 * (1 + (3 * 64))]);
        long before = GC.GetTotalAllocatedBytes(precise: true);

        PhotoFacts facts = PhotoFile.Inspect("p.png", file);
        using PhotoPixels pixels = PhotoFile.Decode(facts, file);

        Assert.InRange(GC.GetTotalAllocatedBytes(precise: true) - before, 0, 100L << 20);
        Assert.Equal((64, 48), (facts.Orientation.CodedWidth, facts.Orientation.CodedHeight));
    }

    [Fact]
    public void A_picture_whose_data_end_early_is_refused_and_not_filled_up_with_black()
    {
        Assert.Throws<UnusableInputException>(() => PhotoFile.Inspect("p.png", Png(64, 48, [], new byte[20 * (1 + (3 * 64))])));
    }

    [Theory]
    [InlineData(PngInterlaceMode.None)]
    [InlineData(PngInterlaceMode.Adam7)]
    public void Interlaced_pictures_are_whole_too(PngInterlaceMode mode)
    {
        using var image = new Image<Rgb24>(37, 53);
        using var stream = new MemoryStream();
        image.SaveAsPng(stream, new PngEncoder { InterlaceMethod = mode });

        Assert.Equal("PNG", PhotoFile.Inspect("p.png", stream.ToArray()).Format);
    }

    // Wherever a file is cut, it is refused in words; and what is made of random changes never ends otherwise.
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Any_bytes_are_read_or_refused(bool jpeg)
    {
        using var image = new Image<Rgb24>(64, 48);
        using var stream = new MemoryStream();
        if (jpeg)
            image.SaveAsJpeg(stream);
        else
            image.SaveAsPng(stream);
        byte[] whole = stream.ToArray();
        for (int length = 0; length < whole.Length; length++)
            Assert.Throws<UnusableInputException>(() => PhotoFile.Inspect("p", whole[..length]));

        var random = new Random(20_260);
        for (int trial = 0; trial < 400; trial++)
        {
            byte[] changed = [.. whole];
            for (int k = 0; k < 1 + (trial % 4); k++)
                changed[random.Next(changed.Length)] = (byte)random.Next(256);
            try
            {
                PhotoFacts facts = PhotoFile.Inspect("p", changed);
                using PhotoPixels pixels = PhotoFile.Decode(facts, changed);
                pixels.IsGrey();
            }
            catch (UnusableInputException)
            {
            }
        }
    }

    private static byte[] Png(int width, int height, byte[] extra, byte[] raw)
    {
        byte[] header = new byte[13];
        BinaryPrimitives.WriteInt32BigEndian(header, width);
        BinaryPrimitives.WriteInt32BigEndian(header.AsSpan(4), height);
        (header[8], header[9]) = (8, 2);
        byte[] signature = [0x89, (byte)'P', (byte)'N', (byte)'G', 0x0D, 0x0A, 0x1A, 0x0A];
        return [.. signature, .. Chunk("IHDR", header), .. extra, .. Chunk("IDAT", Compressed(raw, 1)), .. Chunk("IEND", [])];
    }

    private static byte[] Chunk(string name, byte[] content)
    {
        byte[] named = [.. System.Text.Encoding.ASCII.GetBytes(name), .. content];
        byte[] length = new byte[4], checksum = new byte[4];
        BinaryPrimitives.WriteInt32BigEndian(length, content.Length);
        BinaryPrimitives.WriteUInt32BigEndian(checksum, Checksum(named));
        return [.. length, .. named, .. checksum];
    }

    // CRC of ISO 3309, as PNG chunks end with.
    private static uint Checksum(byte[] bytes)
    {
        uint crc = uint.MaxValue;
        foreach (byte b in bytes)
        {
            crc ^= b;
            for (int k = 0; k < 8; k++)
                crc = (crc & 1) != 0 ? 0xEDB88320 ^ (crc >> 1) : crc >> 1;
        }

        return ~crc;
    }

    private static byte[] Compressed(byte[] raw, int times)
    {
        using var compressed = new MemoryStream();
        using (var zlib = new ZLibStream(compressed, CompressionLevel.Optimal, leaveOpen: true))
        {
            for (int k = 0; k < times; k++)
                zlib.Write(raw);
        }

        return compressed.ToArray();
    }
}
