using System.Buffers.Binary;
using System.Text;

namespace StreakTrack.Synthesis.Output;

/// <summary>Raw frames with their times as a Matroska stream: the plainest container in which a pipe can carry a variable frame
/// rate.</summary>
/// <remarks>Element numbers after RFC 8794 (EBML) and RFC 9559 (Matroska). One cluster a frame, sizes of segment and tracks stated, times
/// in microseconds.</remarks>
internal sealed class RawMatroskaStream
{
    private const uint Ebml = 0x1A45DFA3, DocType = 0x4282, Segment = 0x18538067, Info = 0x1549A966, TimestampScale = 0x2AD7B1;
    private const uint Tracks = 0x1654AE6B, TrackEntry = 0xAE, TrackNumber = 0xD7, TrackUid = 0x73C5, TrackType = 0x83, CodecId = 0x86;
    private const uint Video = 0xE0, PixelWidth = 0xB0, PixelHeight = 0xBA, UncompressedFourCc = 0x2EB524;
    private const uint Cluster = 0x1F43B675, Timestamp = 0xE7, SimpleBlock = 0xA3;

    private readonly Stream _stream;

    public RawMatroskaStream(Stream stream, int width, int height)
    {
        _stream = stream;
        byte[] header = Element(Ebml, Element(DocType, "matroska"u8.ToArray()));
        byte[] info = Element(Info, Number(TimestampScale, 1000));
        byte[] video = Element(Video,
        [
            .. Number(PixelWidth, (ulong)width), .. Number(PixelHeight, (ulong)height),
            .. Element(UncompressedFourCc, [(byte)'B', (byte)'G', (byte)'R', 24]),
        ]);
        byte[] track = Element(TrackEntry,
        [
            .. Number(TrackNumber, 1), .. Number(TrackUid, 1), .. Number(TrackType, 1),
            .. Element(CodecId, Encoding.ASCII.GetBytes("V_UNCOMPRESSED")), .. video,
        ]);
        _stream.Write(header);
        _stream.Write(Id(Segment));
        // A segment of unknown size: all value bits set.
        _stream.Write([0x01, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF]);
        _stream.Write(info);
        _stream.Write(Element(Tracks, track));
    }

    public void Write(ReadOnlySpan<byte> frame, double timeSeconds)
    {
        byte[] time = Number(Timestamp, (ulong)Math.Round(timeSeconds * 1e6));
        // Track 1, relative time 0, key frame.
        byte[] blockHeader = [0x81, 0, 0, 0x80];
        byte[] blockStart = [.. Id(SimpleBlock), .. Size((ulong)(blockHeader.Length + frame.Length)), .. blockHeader];
        _stream.Write(Id(Cluster));
        _stream.Write(Size((ulong)(time.Length + blockStart.Length + frame.Length)));
        _stream.Write(time);
        _stream.Write(blockStart);
        _stream.Write(frame);
    }

    public void Flush() => _stream.Flush();

    private static byte[] Element(uint id, byte[] content) => [.. Id(id), .. Size((ulong)content.Length), .. content];

    private static byte[] Number(uint id, ulong value)
    {
        var bytes = new byte[8];
        BinaryPrimitives.WriteUInt64BigEndian(bytes, value);
        return Element(id, bytes);
    }

    /// <summary>An element's number, whose leading bits say its own length.</summary>
    private static byte[] Id(uint id)
    {
        var bytes = new byte[4];
        BinaryPrimitives.WriteUInt32BigEndian(bytes, id);
        return [.. bytes.SkipWhile(b => b == 0)];
    }

    /// <summary>A size in eight bytes: a leading 1 and 56 bits of value.</summary>
    private static byte[] Size(ulong size)
    {
        var bytes = new byte[8];
        BinaryPrimitives.WriteUInt64BigEndian(bytes, size | (1UL << 56));
        return bytes;
    }
}
