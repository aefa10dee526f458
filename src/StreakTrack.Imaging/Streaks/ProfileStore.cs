using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;
using StreakTrack.Core;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Keeps one profile a frame in a temporary file, so that the memory needed does not grow with the clip. The file goes with the
/// object.</summary>
/// <remarks>Reading is safe from several threads once writing has ended.</remarks>
internal sealed class ProfileStore : IDisposable
{
    private readonly SafeFileHandle _file;

    /// <summary>Creates an empty store.</summary>
    /// <param name="length">Samples of a profile.</param>
    public ProfileStore(int length)
    {
        Length = length;
        _file = TemporaryFile.Open();
    }

    /// <summary>Samples of a profile.</summary>
    public int Length { get; }

    /// <summary>Profiles stored.</summary>
    public int Count { get; private set; }

    /// <summary>Adds a profile.</summary>
    public void Add(ReadOnlySpan<float> profile)
    {
        try
        {
            RandomAccess.Write(_file, MemoryMarshal.AsBytes(profile[..Length]), Place(Count));
        }
        catch (ArgumentOutOfRangeException e)
        {
            // What the runtime makes of a file that may not grow so large.
            throw new IOException($"The temporary file of the profiles in '{Path.GetTempPath()}' cannot grow further.", e);
        }

        Count++;
    }

    /// <summary>Reads a profile.</summary>
    public void Read(int index, Span<float> profile)
    {
        Span<byte> bytes = MemoryMarshal.AsBytes(profile[..Length]);
        long place = Place(index);
        while (bytes.Length > 0)
        {
            int got = RandomAccess.Read(_file, bytes, place);
            if (got == 0)
                throw new IOException("The temporary file of the profiles ended early.");
            bytes = bytes[got..];
            place += got;
        }
    }

    public void Dispose() => _file.Dispose();

    private long Place(int index) => (long)index * Length * sizeof(float);
}
