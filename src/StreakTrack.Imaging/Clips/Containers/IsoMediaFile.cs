using System.Buffers.Binary;
using System.Globalization;
using System.Text;

namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>Reads MP4 and QuickTime files as far as measuring needs it.</summary>
/// <remarks>
/// ISO/IEC 14496-12 (boxes, edit lists, sample tables), 14496-15 (codec configuration), the QuickTime file format (colr nclc, keys). Only
/// named boxes are gone into, along fixed paths, so nesting cannot run away; the number of boxes looked at is limited.
/// </remarks>
internal sealed class IsoMediaFile
{
    private const int MaxBoxes = 200_000;
    private const int MaxEdits = 10_000;
    private const int MaxConfigurationBytes = 1 << 16;
    private const int VisualSampleEntryBytes = 78;
    private const int UnitRate = 0x10000;

    private readonly ByteSource _source;
    private int _boxesLeft = MaxBoxes;

    private IsoMediaFile(ByteSource source) => _source = source;

    /// <summary>Reads the facts; null when there is no video track.</summary>
    /// <exception cref="EndOfStreamException">The file ends before its structure does.</exception>
    /// <exception cref="InvalidDataException">The structure makes no sense.</exception>
    public static ContainerFacts? Read(ByteSource source)
    {
        var file = new IsoMediaFile(source);
        var whole = new IsoBox(0, 0, source.Length);
        IsoBox movie = file.Find(whole, "moov")
            ?? throw new InvalidDataException("its index (the moov box) is missing: the recording was broken off or the copy is incomplete");
        if (file.Find(movie, "mvhd") is not { } header)
            throw new InvalidDataException("its movie header is missing");
        foreach (IsoBox track in file.Children(movie))
        {
            if (track.Type == IsoBox.Code("trak") && file.ReadTrack(whole, movie, header, track) is { } facts)
                return facts;
        }

        return null;
    }

    private ContainerFacts? ReadTrack(IsoBox whole, IsoBox movie, IsoBox movieHeader, IsoBox track)
    {
        if (Find(track, "mdia", "hdlr") is not { } handler || _source.U32(handler.Start + 8) != IsoBox.Code("vide")
            || Find(track, "mdia", "mdhd") is not { } mediaHeader || Find(track, "tkhd") is not { } trackHeader
            || Find(track, "mdia", "minf", "stbl") is not { } table || Find(table, "stsd") is not { } descriptions
            || ReadDescription(descriptions) is not { } description)
        {
            return null;
        }

        long timescale = ReadTimescale(mediaHeader, out ulong mediaDuration);
        long movieTimescale = ReadTimescale(movieHeader, out _);
        if (timescale <= 0 || movieTimescale <= 0)
            throw new InvalidDataException("its time scale is zero");

        IsoSampleTimes? times = Find(table, "stts") is { } decoding ? IsoSampleTimes.Read(_source, decoding, Find(table, "ctts")) : null;
        List<Edit> edits = Find(track, "edts", "elst") is { } list ? ReadEdits(list, timescale, movieTimescale) : [];
        long emptyTicks = edits.TakeWhile(e => e.IsEmpty).Sum(e => e.DurationTicks);
        List<Edit> played = edits.FindAll(e => !e.IsEmpty);
        (int xx, int xy, int yx, int yy) turn = Combine(ReadMatrix(trackHeader, 40), ReadMatrix(movieHeader, 36));

        var facts = new ContainerFacts
        {
            Container = IsQuickTime(whole) ? "QuickTime" : "MP4",
            Codec = description.Codec,
            Format = description.Format,
            Turn = turn,
            Pieces = Math.Max(1, played.Count),
            SpeedChanged = played.Exists(e => e.Rate != UnitRate),
            CaptureRate = ReadCaptureRate(movie),
        };
        if (times is null || times.Count == 0)
            return ReadFragments(whole, movie, TrackId(trackHeader), timescale, emptyTicks, played, facts);

        long frames = played.Count == 0 ? times.Count : played.Sum(e => times.CountWithin(e.MediaTicks, e.EndTicks));
        if (Find(table, "stsz") is { } sizes)
            frames = Math.Min(frames, _source.U32(sizes.Start + 8));
        long playedTicks = played.Exists(e => e.DurationTicks == 0) ? 0 : played.Sum(e => e.DurationTicks);
        return facts with
        {
            Frames = (int)frames,
            StartSeconds = (played.Count > 0 ? emptyTicks : times.EarliestTicks()) / (double)timescale,
            DurationSeconds = (playedTicks > 0 ? playedTicks : times.TotalTicks > 0 ? times.TotalTicks : mediaDuration) / (double)timescale,
            FrameRate = times.TotalTicks > 0 ? times.Count * (double)timescale / times.TotalTicks : null,
            FrameTimes = played.Count > 1 || facts.SpeedChanged ? null : () =>
            {
                // What is missing at the end of an incomplete copy is still in its index.
                if (Children(whole).Any(box => box.IsCut))
                    return [];

                // The first frame of an edit begins with it, wherever between two frames the edit may begin.
                long[] ticks = played.Count > 0 ? times.Within(played[0].MediaTicks, played[0].EndTicks) : times.Within(long.MinValue, long.MaxValue);
                long origin = played.Count > 0 && ticks.Length > 0 ? ticks[0] - emptyTicks : 0;
                return Array.ConvertAll(ticks, t => (t - origin) / (double)timescale);
            },
        };
    }

    // Fragmented files keep the samples of each piece in a box of its own, all over the file.
    private ContainerFacts ReadFragments(
        IsoBox whole, IsoBox movie, uint trackId, long timescale, long emptyTicks, List<Edit> played, ContainerFacts facts)
    {
        long offsetTicks = (played.Count > 0 ? played[0].MediaTicks : 0) - emptyTicks;
        long frames = 0, totalTicks = 0, defaultDuration = 0;
        long? earliest = null;
        foreach (IsoBox defaults in Children(Find(movie, "mvex") ?? default))
        {
            if (defaults.Type == IsoBox.Code("trex") && _source.U32(defaults.Start + 4) == trackId)
                defaultDuration = _source.U32(defaults.Start + 12);
        }

        foreach (IsoBox fragment in Children(whole))
        {
            if (fragment.Type != IsoBox.Code("moof"))
                continue;
            foreach (IsoBox part in Children(fragment))
            {
                if (part.Type != IsoBox.Code("traf") || Find(part, "tfhd") is not { } header || _source.U32(header.Start + 4) != trackId)
                    continue;
                uint flags = _source.U32(header.Start) & 0xFFFFFF;
                long at = header.Start + 8 + ((flags & 1) != 0 ? 8 : 0) + ((flags & 2) != 0 ? 4 : 0);
                long duration = (flags & 8) != 0 ? _source.U32(at) : defaultDuration;
                long now = totalTicks;
                if (Find(part, "tfdt") is { } start)
                    now = _source.U8(start.Start) == 1 ? (long)Math.Min(_source.U64(start.Start + 4), long.MaxValue / 4) : _source.U32(start.Start + 4);
                foreach (IsoBox run in Children(part))
                {
                    if (run.Type == IsoBox.Code("trun"))
                        ReadRun(run, duration, earliest is null);
                }

                totalTicks = now;

                void ReadRun(IsoBox run, long sampleDuration, bool isFirst)
                {
                    uint has = _source.U32(run.Start) & 0xFFFFFF;
                    int bytes = 4 * (((has & 0x100) != 0 ? 1 : 0) + ((has & 0x200) != 0 ? 1 : 0) + ((has & 0x400) != 0 ? 1 : 0)
                        + ((has & 0x800) != 0 ? 1 : 0));
                    long sample = run.Start + 8 + ((has & 1) != 0 ? 4 : 0) + ((has & 4) != 0 ? 4 : 0);
                    long count = _source.U32(run.Start + 4);
                    if (bytes > 0)
                        count = Math.Clamp((run.End - sample) / bytes, 0, count);
                    frames += count;
                    if (bytes == 0)
                        now += sampleDuration * count;
                    for (long i = 0; bytes > 0 && i < count; i++, sample += bytes)
                    {
                        long composed = now + ((has & 0x800) != 0 ? _source.S32(sample + bytes - 4) : 0);
                        if (isFirst && (earliest is null || composed < earliest))
                            earliest = composed;
                        now += (has & 0x100) != 0 ? _source.U32(sample) : sampleDuration;
                    }

                    earliest ??= now - (sampleDuration * count);
                }
            }
        }

        if (frames == 0)
            throw new InvalidDataException("it announces no frames");
        return facts with
        {
            Frames = frames <= int.MaxValue ? (int)frames : null,
            StartSeconds = ((earliest ?? 0) - offsetTicks) / (double)timescale,
            DurationSeconds = totalTicks > 0 ? totalTicks / (double)timescale : null,
            FrameRate = totalTicks > 0 ? frames * (double)timescale / totalTicks : null,
        };
    }

    private (string Codec, StreamFormat Format)? ReadDescription(IsoBox descriptions)
    {
        foreach (IsoBox entry in Children(descriptions with { Start = descriptions.Start + 8 }))
        {
            if (entry.Start + VisualSampleEntryBytes > entry.End)
                return null;
            string codec = CodecName(IsoBox.Name(entry.Type));
            int width = _source.U16(entry.Start + 24), height = _source.U16(entry.Start + 26);
            StreamFormat format = CodecDefaults(codec, IsoBox.Name(entry.Type)) with { Width = width, Height = height };
            var container = new ColourTags();
            foreach (IsoBox box in Children(entry with { Start = entry.Start + VisualSampleEntryBytes }))
            {
                byte[] Content() => _source.Bytes(box.Start, box.End, MaxConfigurationBytes);
                switch (IsoBox.Name(box.Type))
                {
                    case "avcC":
                        format = Merge(ParameterSets.FromAvcConfiguration(Content()), format);
                        break;
                    case "hvcC":
                        format = Merge(ParameterSets.FromHevcConfiguration(Content()), format);
                        break;
                    case "vpcC" when Content() is { Length: >= 10 } vp:
                        format = format with
                        {
                            BitDepth = vp[6] >> 4,
                            ChromaFormat = ((vp[6] >> 1) & 7) switch { 2 => 2, 3 => 3, _ => 1 },
                            Tags = new ColourTags(vp[8], vp[9], (vp[6] & 1) == 1),
                        };
                        break;
                    case "av1C" when Content() is { Length: >= 3 } av:
                        format = format with
                        {
                            BitDepth = (av[2] & 0x40) == 0 ? 8 : (av[2] & 0x20) == 0 ? 10 : 12,
                            ChromaFormat = (av[2] & 0x10) != 0 ? 0 : ((av[2] >> 2) & 3) switch { 3 => 1, 2 => 2, _ => 3 },
                        };
                        break;
                    case "colr" when Content() is { Length: >= 10 } colour:
                        uint kind = BinaryPrimitives.ReadUInt32BigEndian(colour);
                        if (kind == IsoBox.Code("nclx") || kind == IsoBox.Code("nclc"))
                        {
                            container = new ColourTags((colour[6] << 8) | colour[7], (colour[8] << 8) | colour[9],
                                kind == IsoBox.Code("nclx") && colour.Length > 10 ? (colour[10] & 0x80) != 0 : null);
                        }

                        break;
                }
            }

            return (codec, format with { Tags = format.Tags.Or(container) });
        }

        return null;
    }

    private static StreamFormat Merge(StreamFormat? stream, StreamFormat container) => stream is null
        ? container
        : stream.Width > 0 ? stream : stream with { Width = container.Width, Height = container.Height };

    private static string CodecName(string fourCharacters) => fourCharacters switch
    {
        "avc1" or "avc3" => "h264",
        "hvc1" or "hev1" or "dvh1" or "dvhe" => "hevc",
        "av01" => "av1",
        "vp09" => "vp9",
        "vp08" => "vp8",
        "mp4v" => "mpeg4",
        "jpeg" or "mjpa" or "mjpb" or "MJPG" => "mjpeg",
        "apch" or "apcn" or "apcs" or "apco" or "ap4h" or "ap4x" => "prores",
        _ => fourCharacters,
    };

    private static StreamFormat CodecDefaults(string codec, string fourCharacters) => codec switch
    {
        "prores" => new StreamFormat(0, 0, fourCharacters is "ap4h" or "ap4x" ? 3 : 2, fourCharacters is "ap4h" or "ap4x" ? 12 : 10, new ColourTags()),
        "mjpeg" => CodecFormats.MotionJpeg,
        _ => CodecFormats.Usual,
    };

    private List<Edit> ReadEdits(IsoBox list, long timescale, long movieTimescale)
    {
        bool wide = _source.U8(list.Start) == 1;
        int entryBytes = wide ? 20 : 12;
        long at = list.Start + 8;
        long count = Math.Min(Math.Min(_source.U32(list.Start + 4), Math.Max(0, (list.End - at) / entryBytes)), MaxEdits);
        var edits = new List<Edit>();
        for (; count > 0; count--, at += entryBytes)
        {
            double duration = wide ? _source.U64(at) : _source.U32(at);
            long media = wide ? unchecked((long)_source.U64(at + 8)) : _source.S32(at + 4);
            double ticks = Math.Round(duration * timescale / movieTimescale);
            if (!(ticks < long.MaxValue / (4.0 * MaxEdits)) || media > long.MaxValue / 4)
                throw new InvalidDataException("its edit list makes no sense");
            edits.Add(new Edit((long)ticks, media, _source.S32(at + entryBytes - 4)));
        }

        return edits;
    }

    private long ReadTimescale(IsoBox header, out ulong duration)
    {
        bool wide = _source.U8(header.Start) == 1;
        duration = wide ? _source.U64(header.Start + 24) : _source.U32(header.Start + 16);
        return _source.U32(header.Start + (wide ? 20 : 12));
    }

    private uint TrackId(IsoBox header) => _source.U32(header.Start + (_source.U8(header.Start) == 1 ? 20 : 12));

    // Stored as a b u / c d v / x y w for row vectors: x' = a x + c y, y' = b x + d y.
    private (int XX, int XY, int YX, int YY) ReadMatrix(IsoBox header, int offset)
    {
        long at = header.Start + offset + (_source.U8(header.Start) == 1 ? 12 : 0);
        double a = _source.S32(at), b = _source.S32(at + 4), c = _source.S32(at + 12), d = _source.S32(at + 16);
        bool upright = Math.Abs(a * d) >= Math.Abs(b * c);
        return upright && a != 0 && d != 0 ? (Math.Sign(a), 0, 0, Math.Sign(d))
            : !upright ? (0, Math.Sign(c), Math.Sign(b), 0)
            : (1, 0, 0, 1);
    }

    private static (int XX, int XY, int YX, int YY) Combine((int XX, int XY, int YX, int YY) track, (int XX, int XY, int YX, int YY) movie) => (
        (movie.XX * track.XX) + (movie.XY * track.YX), (movie.XX * track.XY) + (movie.XY * track.YY),
        (movie.YX * track.XX) + (movie.YY * track.YX), (movie.YX * track.XY) + (movie.YY * track.YY));

    private bool IsQuickTime(IsoBox whole) => Find(whole, "ftyp") is not { } type || _source.U32(type.Start) == IsoBox.Code("qt  ");

    // Phones note the rate at which frames were taken as metadata: moov/meta/keys lists names, moov/meta/ilst has a value for each by number.
    private double? ReadCaptureRate(IsoBox movie)
    {
        const string name = "com.android.capture.fps";
        const int maxKeys = 1000, maxNameBytes = 64, maxValueBytes = 32;
        IsoBox? meta = Find(movie, "meta") ?? Find(movie, "udta", "meta");
        if (meta is not { } box)
            return null;

        // In MP4 files this box starts with a version, in QuickTime files it does not.
        if (Find(box, "keys") is null)
            box = box with { Start = Math.Min(box.Start + 4, box.End) };
        if (Find(box, "keys") is not { } keys || Find(box, "ilst") is not { } values)
            return null;
        uint index = 0, wanted = 0;
        foreach (IsoBox key in Children(keys with { Start = Math.Min(keys.Start + 8, keys.End) }))
        {
            index++;
            if (index > maxKeys)
                return null;
            if (Encoding.ASCII.GetString(_source.Bytes(key.Start, key.End, maxNameBytes)) == name)
                wanted = index;
        }

        foreach (IsoBox value in Children(values))
        {
            if (wanted == 0 || value.Type != wanted || Find(value, "data") is not { } data)
                continue;
            const int realSingle = 23, realDouble = 24, text = 1;
            byte[] content = _source.Bytes(data.Start, data.End, maxValueBytes);
            double? rate = content.Length < 12 ? null : (BinaryPrimitives.ReadUInt32BigEndian(content) & 0xFFFFFF) switch
            {
                realSingle => BinaryPrimitives.ReadSingleBigEndian(content.AsSpan(8)),
                realDouble when content.Length >= 16 => BinaryPrimitives.ReadDoubleBigEndian(content.AsSpan(8)),
                text when double.TryParse(content.AsSpan(8), CultureInfo.InvariantCulture, out double number) => number,
                _ => null,
            };
            return rate is > 0 and < 1e6 ? rate : null;
        }

        return null;
    }

    private IsoBox? Find(IsoBox parent, params ReadOnlySpan<string> path)
    {
        foreach (string name in path)
        {
            IsoBox? found = null;
            foreach (IsoBox child in Children(parent))
            {
                if (child.Type == IsoBox.Code(name))
                {
                    found = child;
                    break;
                }
            }

            if (found is null)
                return null;
            parent = found.Value;
        }

        return parent;
    }

    private IEnumerable<IsoBox> Children(IsoBox parent)
    {
        for (long at = parent.Start; at + 8 <= parent.End;)
        {
            if (--_boxesLeft < 0)
                throw new InvalidDataException("it has more boxes than any camera writes");
            ulong size = _source.U32(at);
            uint type = _source.U32(at + 4);
            int header = 8;
            if (size == 1)
            {
                if (at + 16 > parent.End)
                    yield break;
                size = _source.U64(at + 8);
                header = 16;
            }
            else if (size == 0)
            {
                size = (ulong)(parent.End - at);   // to the end of what it is in
            }

            if (size < (ulong)header)
                yield break;
            bool isCut = size > (ulong)(parent.End - at);
            long end = isCut ? parent.End : at + (long)size;
            yield return new IsoBox(type, at + header, end, isCut);
            at = end;
        }
    }

    private readonly record struct Edit(long DurationTicks, long MediaTicks, int Rate)
    {
        public bool IsEmpty => MediaTicks < 0;

        // A piece without a length plays to the end.
        public long EndTicks => DurationTicks == 0 ? long.MaxValue : MediaTicks + DurationTicks;
    }
}
