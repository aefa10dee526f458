using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace StreakTrack.Imaging.Clips;

/// <summary>Interpolates a frame's colour samples to the places of its pixels, row by row.</summary>
/// <remarks>
/// Linear interpolation. Across rows a sample of 4:2:0 lies midway between the two rows that share it. Along the row it lies on the left one
/// of two columns or midway between them (chroma_sample_loc_type 0 and 1 of ITU-T H.264, annex E). At the region's border the outermost sample
/// goes on.
/// </remarks>
internal readonly ref struct ChromaRows
{
    private readonly ReadOnlySpan<byte> _cb;
    private readonly ReadOnlySpan<byte> _cr;
    private readonly float _cbGain;
    private readonly float _crGain;
    private readonly int _middle;
    private readonly int _width;
    private readonly int _rows;
    private readonly bool _halfWidth;
    private readonly bool _halfHeight;
    private readonly bool _leftSited;

    public ChromaRows(RawFrame frame, float cbGain, float crGain, int middle, bool leftSited)
    {
        _cb = frame.Plane1;
        _cr = frame.Plane2;
        _cbGain = cbGain;
        _crGain = crGain;
        _middle = middle;
        _halfWidth = frame.Layout is PlaneLayout.Yuv420 or PlaneLayout.Yuv422;
        _halfHeight = frame.Layout == PlaneLayout.Yuv420;
        _width = _halfWidth ? (frame.Region.Width + 1) / 2 : frame.Region.Width;
        _rows = _halfHeight ? (frame.Region.Height + 1) / 2 : frame.Region.Height;
        _leftSited = leftSited;
    }

    /// <summary>Fills one row with offset + cbGain (Cb - middle) + crGain (Cr - middle) at each pixel.</summary>
    /// <param name="y">Row of the frame's region.</param>
    /// <param name="offset">What is added.</param>
    /// <param name="samples">Work space for one row of colour samples.</param>
    /// <param name="pixels">Receives one value a pixel.</param>
    public void Fill<T>(int y, float offset, Span<float> samples, Span<float> pixels)
        where T : unmanaged
    {
        int near = _halfHeight ? y / 2 : y;
        int far = _halfHeight ? Math.Clamp((y & 1) == 0 ? near - 1 : near + 1, 0, _rows - 1) : near;
        float nearShare = _halfHeight ? 0.75f : 1;
        samples = samples[..(_halfWidth ? _width : pixels.Length)];
        samples.Fill(offset - (_middle * (_cbGain + _crGain)));
        Add<T>(_cb, near, _cbGain * nearShare, samples);
        Add<T>(_cr, near, _crGain * nearShare, samples);
        if (_halfHeight)
        {
            Add<T>(_cb, far, _cbGain * (1 - nearShare), samples);
            Add<T>(_cr, far, _crGain * (1 - nearShare), samples);
        }

        if (!_halfWidth)
            samples.CopyTo(pixels);
        else if (_leftSited)
            SpreadLeftSited(samples, pixels);
        else
            SpreadCentred(samples, pixels);
    }

    /// <summary>A code as a number; compiled to a plain conversion for each type.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static float Code<T>(T code)
        where T : unmanaged
        => typeof(T) == typeof(byte) ? (byte)(object)code : (ushort)(object)code;

    private void Add<T>(ReadOnlySpan<byte> plane, int row, float gain, Span<float> samples)
        where T : unmanaged
    {
        if (gain == 0)
            return;
        ReadOnlySpan<T> codes = MemoryMarshal.Cast<byte, T>(plane).Slice(row * _width, samples.Length);
        for (int x = 0; x < codes.Length; x++)
            samples[x] += gain * Code(codes[x]);
    }

    private static void SpreadLeftSited(ReadOnlySpan<float> samples, Span<float> pixels)
    {
        int last = samples.Length - 1;
        for (int k = 0; k < last; k++)
        {
            pixels[2 * k] = samples[k];
            pixels[(2 * k) + 1] = 0.5f * (samples[k] + samples[k + 1]);
        }

        pixels[(2 * last)..].Fill(samples[last]);
    }

    private static void SpreadCentred(ReadOnlySpan<float> samples, Span<float> pixels)
    {
        for (int x = 0; x < pixels.Length; x++)
        {
            int near = x / 2;
            int far = Math.Clamp((x & 1) == 0 ? near - 1 : near + 1, 0, samples.Length - 1);
            pixels[x] = (0.75f * samples[near]) + (0.25f * samples[far]);
        }
    }
}
