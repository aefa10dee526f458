namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>Reads the sequence parameter sets that a container keeps for its stream.</summary>
/// <remarks>Syntax: ITU-T H.264 (7.3.2.1.1, annex E.1.1) and H.265 (7.3.2.2, 7.3.3, 7.3.7, annex E.2.1); boxes: ISO/IEC 14496-15.</remarks>
internal static class ParameterSets
{
    private const int MaxSidePx = 16384;

    /// <summary>The format in an AVCDecoderConfigurationRecord; null when it cannot be read.</summary>
    public static StreamFormat? FromAvcConfiguration(ReadOnlySpan<byte> box)
    {
        if (box.Length < 8 || (box[5] & 31) == 0)
            return null;
        int length = (box[6] << 8) | box[7];
        return box.Length < 8 + length || length < 4 ? null : ReadAvc(new BitReader(box.Slice(9, length - 1)));
    }

    /// <summary>The format in an HEVCDecoderConfigurationRecord; null when it cannot be read.</summary>
    public static StreamFormat? FromHevcConfiguration(ReadOnlySpan<byte> box)
    {
        const int sequenceParameterSet = 33;
        if (box.Length < 23)
            return null;
        int at = 23;
        for (int arrays = box[22]; arrays > 0 && at + 3 <= box.Length; arrays--)
        {
            int type = box[at] & 63;
            int units = (box[at + 1] << 8) | box[at + 2];
            at += 3;
            for (; units > 0 && at + 2 <= box.Length; units--)
            {
                int length = (box[at] << 8) | box[at + 1];
                at += 2;
                if (at + length > box.Length)
                    return null;
                if (type == sequenceParameterSet && length > 2)
                    return ReadHevc(new BitReader(box.Slice(at + 2, length - 2)));
                at += length;
            }
        }

        // Without a parameter set the record's own header still tells the samples' form.
        return new StreamFormat(0, 0, box[16] & 3, 8 + (box[17] & 7), new ColourTags());
    }

    private static StreamFormat? ReadAvc(BitReader bits)
    {
        uint profile = bits.Bits(8);
        bits.Skip(16);
        bits.Unsigned();
        uint chroma = 1, depth = 8;
        if (profile is 100 or 110 or 122 or 244 or 44 or 83 or 86 or 118 or 128 or 138 or 139 or 134 or 135)
        {
            chroma = bits.Unsigned();
            if (chroma == 3)
                bits.Skip(1);
            depth = 8 + bits.Unsigned();
            bits.Unsigned();
            bits.Skip(1);
            if (bits.Flag())
            {
                for (int i = 0; i < (chroma == 3 ? 12 : 8); i++)
                {
                    if (bits.Flag())
                        SkipAvcScalingList(bits, i < 6 ? 16 : 64);
                }
            }
        }

        bits.Unsigned();
        uint orderType = bits.Unsigned();
        if (orderType == 0)
        {
            bits.Unsigned();
        }
        else if (orderType == 1)
        {
            bits.Skip(1);
            bits.Signed();
            bits.Signed();
            uint cycle = Math.Min(bits.Unsigned(), 255);
            for (uint i = 0; i < cycle; i++)
                bits.Signed();
        }

        bits.Unsigned();
        bits.Skip(1);
        long width = 16L * (1L + bits.Unsigned());
        long mapUnits = 1L + bits.Unsigned();
        bool framesOnly = bits.Flag();
        long height = 16 * mapUnits * (framesOnly ? 1 : 2);
        if (!framesOnly)
            bits.Skip(1);
        bits.Skip(1);
        if (bits.Flag())
        {
            int unitX = chroma is 1 or 2 ? 2 : 1, unitY = (chroma == 1 ? 2 : 1) * (framesOnly ? 1 : 2);
            width -= unitX * ((long)bits.Unsigned() + bits.Unsigned());
            height -= unitY * ((long)bits.Unsigned() + bits.Unsigned());
        }

        return Checked(bits, width, height, chroma, depth);
    }

    private static StreamFormat? ReadHevc(BitReader bits)
    {
        bits.Skip(4);
        int subLayers = (int)bits.Bits(3);
        bits.Skip(1);
        SkipProfileTierLevel(bits, subLayers);
        bits.Unsigned();
        uint chroma = bits.Unsigned();
        if (chroma == 3)
            bits.Skip(1);
        long width = bits.Unsigned(), height = bits.Unsigned();
        if (bits.Flag())
        {
            int unitX = chroma is 1 or 2 ? 2 : 1, unitY = chroma == 1 ? 2 : 1;
            width -= unitX * ((long)bits.Unsigned() + bits.Unsigned());
            height -= unitY * ((long)bits.Unsigned() + bits.Unsigned());
        }

        uint depth = 8 + bits.Unsigned();
        bits.Unsigned();
        int orderBits = 4 + (int)Math.Min(bits.Unsigned(), 28);
        for (int i = bits.Flag() ? 0 : subLayers; i <= subLayers; i++)
        {
            bits.Unsigned();
            bits.Unsigned();
            bits.Unsigned();
        }

        for (int i = 0; i < 6; i++)
            bits.Unsigned();
        if (bits.Flag() && bits.Flag())
            SkipHevcScalingLists(bits);
        bits.Skip(2);
        if (bits.Flag())
        {
            bits.Skip(8);
            bits.Unsigned();
            bits.Unsigned();
            bits.Skip(1);
        }

        if (!SkipShortTermSets(bits))
            return null;
        if (bits.Flag())
        {
            uint longTerm = Math.Min(bits.Unsigned(), 32);
            for (uint i = 0; i < longTerm; i++)
                bits.Skip(orderBits + 1);
        }

        bits.Skip(2);
        return Checked(bits, width, height, chroma, depth);
    }

    // What follows stands in both standards alike: the flag of the usability information, and its first part.
    private static StreamFormat? Checked(BitReader bits, long width, long height, uint chroma, uint depth)
    {
        ColourTags tags = ReadUsability(bits);
        return bits.Overrun || width is < 1 or > MaxSidePx || height is < 1 or > MaxSidePx || chroma > 3 || depth > 16
            ? null
            : new StreamFormat((int)width, (int)height, (int)chroma, (int)depth, tags);
    }

    private static ColourTags ReadUsability(BitReader bits)
    {
        const uint extendedRatio = 255;
        if (!bits.Flag())
            return new ColourTags();
        if (bits.Flag() && bits.Bits(8) == extendedRatio)
            bits.Skip(32);
        if (bits.Flag())
            bits.Skip(1);
        var tags = new ColourTags();
        if (bits.Flag())
        {
            bits.Skip(3);
            tags = tags with { FullRange = bits.Flag() };
            if (bits.Flag())
            {
                bits.Skip(8);
                tags = tags with { Transfer = (int)bits.Bits(8), Matrix = (int)bits.Bits(8) };
            }
        }

        if (bits.Flag())
        {
            // Even kinds lie over the left column: left, top left, bottom left.
            tags = tags with { ChromaLeftSited = bits.Unsigned() % 2 == 0 };
        }

        return tags;
    }

    private static void SkipAvcScalingList(BitReader bits, int size)
    {
        int last = 8, next = 8;
        for (int i = 0; i < size && !bits.Overrun; i++)
        {
            if (next != 0)
                next = (last + bits.Signed() + 256) & 255;
            last = next == 0 ? last : next;
        }
    }

    private static void SkipProfileTierLevel(BitReader bits, int subLayers)
    {
        bits.Skip(96);
        Span<bool> present = stackalloc bool[16];
        for (int i = 0; i < 2 * subLayers; i++)
            present[i] = bits.Flag();
        if (subLayers > 0)
            bits.Skip(2 * (8 - subLayers));
        for (int i = 0; i < subLayers; i++)
            bits.Skip((present[2 * i] ? 88 : 0) + (present[(2 * i) + 1] ? 8 : 0));
    }

    private static void SkipHevcScalingLists(BitReader bits)
    {
        for (int size = 0; size < 4; size++)
        {
            for (int matrix = 0; matrix < 6; matrix += size == 3 ? 3 : 1)
            {
                if (!bits.Flag())
                {
                    bits.Unsigned();
                    continue;
                }

                if (size > 1)
                    bits.Signed();
                for (int i = Math.Min(64, 1 << (4 + (size << 1))); i > 0; i--)
                    bits.Signed();
            }
        }
    }

    private static bool SkipShortTermSets(BitReader bits)
    {
        const int maxSets = 64, maxPictures = 16;
        uint sets = bits.Unsigned();
        if (sets > maxSets)
            return false;
        uint previous = 0;
        for (int set = 0; set < sets; set++)
        {
            if (set > 0 && bits.Flag())
            {
                bits.Skip(1);
                bits.Unsigned();
                uint pictures = 0;
                for (uint i = 0; i <= previous; i++)
                {
                    bool used = bits.Flag();
                    if (used || bits.Flag())
                        pictures++;
                }

                previous = pictures;
            }
            else
            {
                uint negative = bits.Unsigned(), positive = bits.Unsigned();
                if (negative > maxPictures || positive > maxPictures)
                    return false;
                previous = negative + positive;
                for (uint i = 0; i < previous; i++)
                {
                    bits.Unsigned();
                    bits.Skip(1);
                }
            }

            if (previous > maxPictures || bits.Overrun)
                return false;
        }

        return true;
    }
}
