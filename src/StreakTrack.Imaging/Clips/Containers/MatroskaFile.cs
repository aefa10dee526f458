namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>Reads Matroska and WebM files as far as measuring needs it.</summary>
/// <remarks>RFC 8794 (EBML) and RFC 9559 (Matroska). Elements are gone into along fixed paths; their number is limited.</remarks>
internal sealed class MatroskaFile
{
    private const int MaxElements = 200_000;
    private const int MaxConfigurationBytes = 1 << 16;

    // The earliest picture is among the first ones: reordering reaches over no more than a decoder may hold.
    private const int MaxReordered = 64;

    private readonly ByteSource _source;
    private int _elementsLeft = MaxElements;

    private MatroskaFile(ByteSource source) => _source = source;

    /// <summary>Reads the facts; null when there is no video track.</summary>
    public static ContainerFacts? Read(ByteSource source) => new MatroskaFile(source).ReadSegment();

    private ContainerFacts? ReadSegment()
    {
        double tickSeconds = 1e-3;
        double? durationTicks = null;
        ContainerFacts? facts = null;
        ulong number = 0;
        long? earliestTicks = null;
        int blocks = 0;
        Element segment = Children(new Element(0, 0, _source.Length)).FirstOrDefault(e => e.Id == Ids.Segment);
        foreach (Element part in Children(segment))
        {
            if (part.Id == Ids.Info)
            {
                foreach (Element item in Children(part))
                {
                    if (item.Id == Ids.TimestampScale && Unsigned(item) is > 0 and var nanoseconds)
                        tickSeconds = 1e-9 * nanoseconds;
                    else if (item.Id == Ids.Duration)
                        durationTicks = Real(item);
                }
            }
            else if (part.Id == Ids.Tracks && facts is null)
            {
                foreach (Element track in Children(part))
                {
                    if (track.Id == Ids.TrackEntry && facts is null)
                        facts = ReadTrack(track, out number);
                }
            }
            else if (part.Id == Ids.Cluster && facts is not null)
            {
                ReadCluster(part);
                if (blocks >= MaxReordered)
                    break;
            }
        }

        return facts is null ? null : facts with
        {
            StartSeconds = (earliestTicks ?? 0) * tickSeconds,
            DurationSeconds = durationTicks is > 0 ? durationTicks * tickSeconds : null,
        };

        void ReadCluster(Element cluster)
        {
            long clusterTicks = 0;
            foreach (Element item in Children(cluster))
            {
                if (item.Id == Ids.Timestamp)
                    clusterTicks = (long)Math.Min(Unsigned(item), long.MaxValue / 2);
                else if (item.Id == Ids.SimpleBlock)
                    See(item);
                else if (item.Id == Ids.BlockGroup)
                    See(Children(item).FirstOrDefault(e => e.Id == Ids.Block));
                if (blocks >= MaxReordered)
                    return;
            }

            void See(Element block)
            {
                if (block.Length < 4 || Varint(block.Start, block.End, keepMarker: false) is not { } track || track.Value != number)
                    return;
                long ticks = clusterTicks + unchecked((short)_source.U16(block.Start + track.Length));
                earliestTicks = earliestTicks is { } known ? Math.Min(known, ticks) : ticks;
                blocks++;
            }
        }
    }

    private ContainerFacts? ReadTrack(Element track, out ulong number)
    {
        const ulong video = 1;
        number = 0;
        ulong type = 0;
        double? rate = null;
        string id = "";
        byte[] configuration = [];
        int width = 0, height = 0;
        var tags = new ColourTags();
        (int XX, int XY, int YX, int YY) turn = (1, 0, 0, 1);
        foreach (Element item in Children(track))
        {
            switch (item.Id)
            {
                case Ids.TrackNumber:
                    number = Unsigned(item);
                    break;
                case Ids.TrackType:
                    type = Unsigned(item);
                    break;
                case Ids.CodecId:
                    id = System.Text.Encoding.ASCII.GetString(_source.Bytes(item.Start, item.End, 64)).TrimEnd('\0');
                    break;
                case Ids.CodecPrivate:
                    configuration = _source.Bytes(item.Start, item.End, MaxConfigurationBytes);
                    break;
                case Ids.DefaultDuration when Unsigned(item) is > 0 and var nanoseconds:
                    rate = 1e9 / nanoseconds;
                    break;
                case Ids.Video:
                    foreach (Element property in Children(item))
                    {
                        if (property.Id == Ids.PixelWidth)
                            width = (int)Math.Min(Unsigned(property), int.MaxValue);
                        else if (property.Id == Ids.PixelHeight)
                            height = (int)Math.Min(Unsigned(property), int.MaxValue);
                        else if (property.Id == Ids.Colour)
                            tags = ReadColour(property);
                        else if (property.Id == Ids.Projection)
                            turn = ReadTurn(property);
                    }

                    break;
            }
        }

        if (type != video)
            return null;
        StreamFormat format = (id switch
        {
            "V_MPEG4/ISO/AVC" => ParameterSets.FromAvcConfiguration(configuration),
            "V_MPEGH/ISO/HEVC" => ParameterSets.FromHevcConfiguration(configuration),
            "V_MJPEG" => CodecFormats.MotionJpeg,
            _ => null,
        }) ?? CodecFormats.Usual;
        if (format.Width == 0)
            format = format with { Width = width, Height = height };
        return new ContainerFacts
        {
            Container = "Matroska",
            Codec = CodecName(id),
            Format = format with { Tags = format.Tags.Or(tags) },
            FrameRate = rate,
            Turn = turn,
        };
    }

    // A flat picture is turned by a roll, counter-clockwise, after a yaw by half a turn has mirrored it; other poses are those of pictures
    // seen from within a sphere.
    private (int XX, int XY, int YX, int YY) ReadTurn(Element projection)
    {
        double yaw = 0, pitch = 0, roll = 0;
        foreach (Element item in Children(projection))
        {
            switch (item.Id)
            {
                case Ids.PoseYaw:
                    yaw = Real(item) ?? 0;
                    break;
                case Ids.PosePitch:
                    pitch = Real(item) ?? 0;
                    break;
                case Ids.PoseRoll:
                    roll = Real(item) ?? 0;
                    break;
            }
        }

        if (pitch != 0 || Math.Abs(yaw) is not (0 or 180) || !(roll % 90 == 0))
            return (1, 0, 0, 1);
        int mirror = yaw == 0 ? 1 : -1;
        return ((int)(((roll / 90) % 4) + 4) % 4) switch
        {
            1 => (0, 1, -mirror, 0),
            2 => (-mirror, 0, 0, -1),
            3 => (0, -1, mirror, 0),
            _ => (mirror, 0, 0, 1),
        };
    }

    private ColourTags ReadColour(Element colour)
    {
        const ulong full = 2, left = 1;
        var tags = new ColourTags();
        foreach (Element item in Children(colour))
        {
            ulong value = item.Id is Ids.Matrix or Ids.Transfer or Ids.Range or Ids.ChromaSitingHorizontal ? Unsigned(item) : 0;
            tags = item.Id switch
            {
                Ids.Matrix => tags with { Matrix = (int)Math.Min(value, 255) },
                Ids.Transfer => tags with { Transfer = (int)Math.Min(value, 255) },
                Ids.Range when value is 1 or full => tags with { FullRange = value == full },
                Ids.ChromaSitingHorizontal when value is left or 2 => tags with { ChromaLeftSited = value == left },
                _ => tags,
            };
        }

        return tags;
    }

    private static string CodecName(string id) => id switch
    {
        "V_MPEG4/ISO/AVC" => "h264",
        "V_MPEGH/ISO/HEVC" => "hevc",
        "V_AV1" => "av1",
        "V_VP9" => "vp9",
        "V_VP8" => "vp8",
        "V_MJPEG" => "mjpeg",
        "V_MPEG4/ISO/SP" or "V_MPEG4/ISO/ASP" => "mpeg4",
        "V_PRORES" => "prores",
        _ => new string([.. id.Where(char.IsAsciiLetterOrDigit)]),
    };

    private ulong Unsigned(Element element)
    {
        ulong value = 0;
        for (long at = element.Start; at < Math.Min(element.End, element.Start + 8); at++)
            value = (value << 8) | _source.U8(at);
        return value;
    }

    private double? Real(Element element) => element.Length switch
    {
        4 => BitConverter.UInt32BitsToSingle(_source.U32(element.Start)),
        8 => BitConverter.UInt64BitsToDouble(_source.U64(element.Start)),
        _ => null,
    };

    private IEnumerable<Element> Children(Element parent)
    {
        for (long at = parent.Start; at < parent.End;)
        {
            if (--_elementsLeft < 0)
                throw new InvalidDataException("it has more elements than any camera writes");
            if (Varint(at, parent.End, keepMarker: true) is not { } id || Varint(at + id.Length, parent.End, keepMarker: false) is not { } size)
                yield break;
            long start = at + id.Length + size.Length;

            // All ones: the length was not known when it was written, so it goes to the end of what it is in.
            bool open = size.Value == (1UL << (7 * size.Length)) - 1;
            long end = open || size.Value > (ulong)(parent.End - start) ? parent.End : start + (long)size.Value;
            yield return new Element((uint)id.Value, start, end);
            at = end;
        }
    }

    private (ulong Value, int Length)? Varint(long at, long end, bool keepMarker)
    {
        if (at >= end)
            return null;
        byte first = _source.U8(at);
        int length = System.Numerics.BitOperations.LeadingZeroCount((uint)first) - 23;
        if (length > (keepMarker ? 4 : 8) || at + length > end)
            return null;
        ulong value = keepMarker ? first : first & ((1UL << (8 - length)) - 1);
        for (int i = 1; i < length; i++)
            value = (value << 8) | _source.U8(at + i);
        return (value, length);
    }

    private readonly record struct Element(uint Id, long Start, long End)
    {
        public long Length => End - Start;
    }

    private static class Ids
    {
        public const uint Segment = 0x18538067, Info = 0x1549A966, Tracks = 0x1654AE6B, Cluster = 0x1F43B675;
        public const uint TimestampScale = 0x2AD7B1, Duration = 0x4489;
        public const uint TrackEntry = 0xAE, TrackNumber = 0xD7, TrackType = 0x83, CodecId = 0x86, CodecPrivate = 0x63A2, DefaultDuration = 0x23E383;
        public const uint Video = 0xE0, PixelWidth = 0xB0, PixelHeight = 0xBA, Colour = 0x55B0;
        public const uint Projection = 0x7670, PoseYaw = 0x7673, PosePitch = 0x7674, PoseRoll = 0x7675;
        public const uint Matrix = 0x55B1, ChromaSitingHorizontal = 0x55B7, Range = 0x55B9, Transfer = 0x55BA;
        public const uint Timestamp = 0xE7, SimpleBlock = 0xA3, BlockGroup = 0xA0, Block = 0xA1;
    }
}
