using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using System.Runtime.Intrinsics.X86;

namespace StreakTrack.Imaging.Clips;

/// <summary>Reads several codes of a plane at once.</summary>
internal static class SampleCodes
{
    /// <summary>Eight neighbouring codes as numbers. The machine must have the AVX2 instructions.</summary>
    /// <param name="codes">Codes, of one or two bytes each.</param>
    /// <param name="at">The first of the eight, all of which lie in <paramref name="codes"/>.</param>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static Vector256<float> Eight<T>(ReadOnlySpan<T> codes, int at)
        where T : unmanaged
    {
        ReadOnlySpan<T> eight = codes.Slice(at, 8);
        Vector256<int> whole = typeof(T) == typeof(byte)
            ? Avx2.ConvertToVector256Int32(Vector128.CreateScalarUnsafe(MemoryMarshal.Read<ulong>(MemoryMarshal.AsBytes(eight))).AsByte())
            : Avx2.ConvertToVector256Int32(MemoryMarshal.Read<Vector128<ushort>>(MemoryMarshal.AsBytes(eight)));
        return Vector256.ConvertToSingle(whole);
    }
}
