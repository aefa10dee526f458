using System.Buffers.Binary;

namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>Reads AVI files as far as measuring needs it: the headers of the first video stream.</summary>
/// <remarks>RIFF chunks: a name, a little-endian length, content padded to an even length.</remarks>
internal sealed class AviFile
{
    private const int MaxChunks = 10_000;

    private readonly ByteSource _source;
    private int _chunksLeft = MaxChunks;

    private AviFile(ByteSource source) => _source = source;

    /// <summary>Reads the facts; null when there is no video stream.</summary>
    public static ContainerFacts? Read(ByteSource source) => new AviFile(source).ReadHeaders();

    private ContainerFacts? ReadHeaders()
    {
        foreach (Chunk list in Children(12, _source.Length))
        {
            if (!IsList(list, "hdrl"))
                continue;
            foreach (Chunk stream in Children(list.Start + 4, list.End))
            {
                if (IsList(stream, "strl") && ReadStream(stream) is { } facts)
                    return facts;
            }
        }

        return null;
    }

    private ContainerFacts? ReadStream(Chunk stream)
    {
        Chunk? header = null, format = null;
        foreach (Chunk chunk in Children(stream.Start + 4, stream.End))
        {
            if (chunk.Name == IsoBox.Code("strh"))
                header = chunk;
            else if (chunk.Name == IsoBox.Code("strf"))
                format = chunk;
        }

        if (header is not { } h || format is not { } f || h.End - h.Start < 36 || f.End - f.Start < 20 || _source.U32(h.Start) != IsoBox.Code("vids"))
            return null;
        double scale = Little(h.Start + 20), rate = Little(h.Start + 24), start = Little(h.Start + 28);
        uint length = Little(h.Start + 32);
        if (scale == 0 || rate == 0)
            throw new InvalidDataException("its frame rate is zero");
        string codec = IsoBox.Name(_source.U32(f.Start + 16)).ToUpperInvariant() switch
        {
            "MJPG" => "mjpeg",
            "H264" or "X264" or "AVC1" => "h264",
            "HEVC" or "H265" or "HVC1" => "hevc",
            "XVID" or "DIVX" or "DX50" or "FMP4" or "MP4V" => "mpeg4",
            "????" => "rawvideo",
            string other => other,
        };
        StreamFormat samples = codec == "mjpeg" ? CodecFormats.MotionJpeg : CodecFormats.Usual;
        int width = unchecked((int)Little(f.Start + 4)), height = unchecked((int)Little(f.Start + 8));
        return new ContainerFacts
        {
            Container = "AVI",
            Codec = codec,
            Format = samples with { Width = width, Height = height == int.MinValue ? 0 : Math.Abs(height) },
            Frames = length is > 0 and <= int.MaxValue ? (int)length : null,
            StartSeconds = start * scale / rate,
            DurationSeconds = length > 0 ? length * scale / rate : null,
            FrameRate = rate / scale,
        };
    }

    private bool IsList(Chunk chunk, string kind) =>
        chunk.Name == IsoBox.Code("LIST") && chunk.End - chunk.Start >= 4 && _source.U32(chunk.Start) == IsoBox.Code(kind);

    private uint Little(long at) => BinaryPrimitives.ReverseEndianness(_source.U32(at));

    private IEnumerable<Chunk> Children(long from, long to)
    {
        for (long at = from; at + 8 <= to;)
        {
            if (--_chunksLeft < 0)
                throw new InvalidDataException("it has more chunks than any camera writes");
            long size = Little(at + 4);
            long end = Math.Min(at + 8 + size, to);
            yield return new Chunk(_source.U32(at), at + 8, end);
            at = at + 8 + size + (size & 1);
        }
    }

    private readonly record struct Chunk(uint Name, long Start, long End);
}
