using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using System.Runtime.Intrinsics.X86;

namespace StreakTrack.Imaging.Clips;

/// <summary>Interpolates a frame's colour samples to the places of its pixels, row by row.</summary>
/// <remarks>
/// Linear interpolation. Across rows a sample of 4:2:0 lies midway between the two rows that share it. Along the row it lies on the left one
/// of two columns or midway between them (chroma_sample_loc_type 0 and 1 of ITU-T H.264, annex E). At the frame's border the outermost sample
/// goes on. One object belongs to one thread and one frame at a time.
/// </remarks>
internal sealed class ChromaRows
{
    // Weighted sums of the two colour samples along two neighbouring rows of samples, with one sample more at either end.
    private readonly float[][] _rows = [[], []];
    private readonly int[] _rowHeld = [-1, -1];
    private float[] _between = [];

    private RawFrame _frame = new();
    private float _cbGain, _crGain;
    private int _middle, _samplesARow, _sampleRows;
    private bool _halfWidth, _halfHeight, _leftSited;

    /// <summary>Begins with a frame.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="cbGain">Weight of Cb in what is interpolated.</param>
    /// <param name="crGain">Weight of Cr.</param>
    /// <param name="middle">Code of no colour.</param>
    /// <param name="leftSited">Whether samples lie on the left one of two columns.</param>
    public void Begin(RawFrame frame, float cbGain, float crGain, int middle, bool leftSited)
    {
        (_frame, _cbGain, _crGain, _middle, _leftSited) = (frame, cbGain, crGain, middle, leftSited);
        _halfWidth = frame.Layout is PlaneLayout.Yuv420 or PlaneLayout.Yuv422;
        _halfHeight = frame.Layout == PlaneLayout.Yuv420;
        _samplesARow = _halfWidth ? (frame.Region.Width + 1) / 2 : frame.Region.Width;
        _sampleRows = _halfHeight ? (frame.Region.Height + 1) / 2 : frame.Region.Height;
        _rowHeld.AsSpan().Fill(-1);
    }

    /// <summary>Fills one row with offset + cbGain (Cb - middle) + crGain (Cr - middle) at each pixel.</summary>
    /// <param name="x">First column, counted from the frame's region; even where two columns share a sample.</param>
    /// <param name="y">Row, counted from the frame's region.</param>
    /// <param name="offset">What is added.</param>
    /// <param name="pixels">Receives one value a pixel.</param>
    public void Fill<T>(int x, int y, float offset, Span<float> pixels)
        where T : unmanaged
    {
        int first = _halfWidth ? x / 2 : x, count = _halfWidth ? (pixels.Length + 1) / 2 : pixels.Length;
        if (_between.Length < count + 2)
            _between = new float[count + 2];
        Span<float> samples = _between.AsSpan(0, count + 2);
        if (_halfHeight)
        {
            int near = y / 2, far = Math.Clamp((y & 1) == 0 ? near - 1 : near + 1, 0, _sampleRows - 1);
            Blend(Row<T>(near, first, count), Row<T>(far, first, count), offset, samples);
        }
        else
        {
            Blend(Row<T>(y, first, count), default, offset, samples);
        }

        if (!_halfWidth)
            samples.Slice(1, count).CopyTo(pixels);
        else if (_leftSited)
            Spread(samples, 0, 0.5f, pixels);
        else
            Spread(samples, 0.25f, 0.25f, pixels);
    }

    /// <summary>A code as a number; compiled to a plain conversion for each type.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static int Code<T>(T code)
        where T : unmanaged
        => typeof(T) == typeof(byte) ? (byte)(object)code : (ushort)(object)code;

    // One row of samples; a row that another row of pixels needed already is still there.
    private ReadOnlySpan<float> Row<T>(int row, int first, int count)
        where T : unmanaged
    {
        int slot = row & 1;
        if (_rows[slot].Length != count + 2)
        {
            _rows[slot] = new float[count + 2];
            _rowHeld[slot] = -1;
        }

        if (_rowHeld[slot] != row)
        {
            Weigh<T>(row, first, count, _rows[slot]);
            _rowHeld[slot] = row;
        }

        return _rows[slot];
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void Weigh<T>(int row, int first, int count, Span<float> sums)
        where T : unmanaged
    {
        ReadOnlySpan<T> cb = MemoryMarshal.Cast<byte, T>(_frame.Plane1).Slice(row * _samplesARow, _samplesARow);
        ReadOnlySpan<T> cr = MemoryMarshal.Cast<byte, T>(_frame.Plane2).Slice(row * _samplesARow, _samplesARow);
        float zero = -_middle * (_cbGain + _crGain);
        int from = Math.Max(0, first - 1), to = Math.Min(_samplesARow - 1, first + count), at = from;
        if (Avx2.IsSupported)
        {
            Vector256<float> cbGain = Vector256.Create(_cbGain), crGain = Vector256.Create(_crGain), offset = Vector256.Create(zero);
            for (; at + 7 <= to; at += 8)
            {
                Vector256<float> sum = offset + (cbGain * SampleCodes.Eight(cb, at)) + (crGain * SampleCodes.Eight(cr, at));
                sum.CopyTo(sums[(at - first + 1)..]);
            }
        }

        for (; at <= to; at++)
            sums[at - first + 1] = zero + (_cbGain * Code(cb[at])) + (_crGain * Code(cr[at]));
        if (from > first - 1)
            sums[0] = sums[1];
        if (to < first + count)
            sums[count + 1] = sums[count];
    }

    // Three parts of the nearer row and one of the farther; the nearer one alone where there is no other.
    private static void Blend(ReadOnlySpan<float> near, ReadOnlySpan<float> far, float offset, Span<float> samples)
    {
        int i = 0;
        if (far.IsEmpty)
        {
            for (; i < samples.Length; i++)
                samples[i] = offset + near[i];
            return;
        }

        Vector256<float> offsets = Vector256.Create(offset);
        for (; i + 8 <= samples.Length; i += 8)
            (offsets + (0.75f * Vector256.Create(near[i..])) + (0.25f * Vector256.Create(far[i..]))).CopyTo(samples[i..]);
        for (; i < samples.Length; i++)
            samples[i] = offset + (0.75f * near[i]) + (0.25f * far[i]);
    }

    // Two pixels a sample: the left one takes a share of the sample before, the right one of the sample behind.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static void Spread(ReadOnlySpan<float> samples, float shareBefore, float shareBehind, Span<float> pixels)
    {
        int k = 0;
        if (Avx2.IsSupported)
        {
            for (; (2 * k) + 16 <= pixels.Length; k += 8)
            {
                Vector256<float> before = Vector256.Create(samples[k..]), here = Vector256.Create(samples[(k + 1)..]);
                Vector256<float> behind = Vector256.Create(samples[(k + 2)..]);
                Vector256<float> left = ((1 - shareBefore) * here) + (shareBefore * before);
                Vector256<float> right = ((1 - shareBehind) * here) + (shareBehind * behind);

                // The instructions interleave within halves of the register.
                Vector256<float> low = Avx.UnpackLow(left, right), high = Avx.UnpackHigh(left, right);
                Avx.Permute2x128(low, high, 0x20).CopyTo(pixels[(2 * k)..]);
                Avx.Permute2x128(low, high, 0x31).CopyTo(pixels[((2 * k) + 8)..]);
            }
        }

        for (; 2 * k < pixels.Length; k++)
        {
            pixels[2 * k] = ((1 - shareBefore) * samples[k + 1]) + (shareBefore * samples[k]);
            if ((2 * k) + 1 < pixels.Length)
                pixels[(2 * k) + 1] = ((1 - shareBehind) * samples[k + 1]) + (shareBehind * samples[k + 2]);
        }
    }
}
