using System.Buffers.Binary;

namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>Big-endian numbers at any place of a file, through one small window; whatever the file claims, memory stays bounded.</summary>
internal sealed class ByteSource : IDisposable
{
    private const int WindowBytes = 1 << 16;

    private readonly FileStream _file;
    private readonly CancellationToken _cancellationToken;
    private readonly byte[] _window = new byte[WindowBytes];
    private long _windowStart;
    private int _windowLength;

    /// <summary>Opens a file.</summary>
    public ByteSource(string path, CancellationToken cancellationToken)
    {
        _cancellationToken = cancellationToken;
        _file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete, bufferSize: 0);
        Length = _file.Length;
    }

    /// <summary>Size of the file, in bytes.</summary>
    public long Length { get; }

    /// <summary>Copies bytes.</summary>
    /// <exception cref="EndOfStreamException">They reach beyond the file.</exception>
    public void Read(long at, Span<byte> destination)
    {
        while (destination.Length > 0)
        {
            ReadOnlySpan<byte> available = Window(at);
            int count = Math.Min(available.Length, destination.Length);
            available[..count].CopyTo(destination);
            destination = destination[count..];
            at += count;
        }
    }

    public byte U8(long at) => Window(at)[0];

    public ushort U16(long at)
    {
        Span<byte> bytes = stackalloc byte[2];
        Read(at, bytes);
        return BinaryPrimitives.ReadUInt16BigEndian(bytes);
    }

    public uint U32(long at)
    {
        Span<byte> bytes = stackalloc byte[4];
        Read(at, bytes);
        return BinaryPrimitives.ReadUInt32BigEndian(bytes);
    }

    public ulong U64(long at)
    {
        Span<byte> bytes = stackalloc byte[8];
        Read(at, bytes);
        return BinaryPrimitives.ReadUInt64BigEndian(bytes);
    }

    public int S32(long at) => unchecked((int)U32(at));

    /// <summary>At most <paramref name="maxBytes"/> bytes from a place on, fewer before <paramref name="end"/>.</summary>
    public byte[] Bytes(long at, long end, int maxBytes)
    {
        byte[] bytes = new byte[Math.Clamp(Math.Min(end, Length) - at, 0, maxBytes)];
        Read(at, bytes);
        return bytes;
    }

    public void Dispose() => _file.Dispose();

    private ReadOnlySpan<byte> Window(long at)
    {
        if (at < 0 || at >= Length)
            throw new EndOfStreamException();
        if (at < _windowStart || at >= _windowStart + _windowLength)
        {
            _cancellationToken.ThrowIfCancellationRequested();
            _windowStart = at;
            _windowLength = RandomAccess.Read(_file.SafeFileHandle, _window, at);
            if (_windowLength == 0)
                throw new EndOfStreamException();   // the file became shorter meanwhile
        }

        return _window.AsSpan((int)(at - _windowStart)..(int)_windowLength);
    }
}
