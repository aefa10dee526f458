namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>Reads the bits of an H.264 or HEVC parameter set. Beyond the end it reads zeros and says so.</summary>
internal sealed class BitReader
{
    private readonly byte[] _bytes;
    private long _position;

    /// <summary>A reader of a NAL unit's payload, whose emulation prevention bytes are left out.</summary>
    public BitReader(ReadOnlySpan<byte> payload)
    {
        var bytes = new List<byte>(payload.Length);
        int zeros = 0;
        foreach (byte b in payload)
        {
            if (zeros >= 2 && b == 3)
            {
                zeros = 0;
                continue;
            }

            zeros = b == 0 ? zeros + 1 : 0;
            bytes.Add(b);
        }

        _bytes = [.. bytes];
    }

    /// <summary>Whether more was read than there is.</summary>
    public bool Overrun => _position > 8L * _bytes.Length;

    public uint Bits(int count)
    {
        uint value = 0;
        for (int i = 0; i < count; i++, _position++)
        {
            uint bit = _position < 8L * _bytes.Length ? (uint)(_bytes[_position >> 3] >> (7 - (int)(_position & 7))) & 1 : 0;
            value = (value << 1) | bit;
        }

        return value;
    }

    public bool Flag() => Bits(1) != 0;

    public void Skip(int count) => _position += count;

    /// <summary>An unsigned Exp-Golomb number.</summary>
    public uint Unsigned()
    {
        int zeros = 0;
        while (zeros < 32 && !Overrun && !Flag())
            zeros++;
        return zeros >= 32 ? uint.MaxValue : (1u << zeros) - 1 + Bits(zeros);
    }

    /// <summary>A signed Exp-Golomb number.</summary>
    public int Signed()
    {
        uint code = Unsigned();
        int magnitude = (int)Math.Min((code + 1UL) >> 1, int.MaxValue);
        return (code & 1) == 1 ? magnitude : -magnitude;
    }
}
