using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;
using System.Runtime.Intrinsics.X86;

namespace StreakTrack.Imaging.Clips;

/// <summary>Turns decoded samples into linear light of one channel: 0 = black, 1 = nominal white.</summary>
/// <remarks>
/// Values above nominal white are kept as far as the planes hold them, values below black stay negative, so that noise around black
/// keeps a mean of zero. Colour samples are interpolated at their true places. <see cref="PlaneLayout.Bgr24"/> has its matrix put right; what
/// the embedded decoder cut off at 0 and 255 is gone, for example the part of a pure red beyond the gamut of BT.601, and its colours are
/// displaced to the right by up to half a pixel, because it does not heed their places. An object belongs to one thread at a time.
/// </remarks>
public sealed class LinearLight
{
    // A finer table than the 876 steps of 10-bit video would allow no better result; the range covers colours out of gamut.
    private const int StepsPerUnit = 4096;
    private const double LowestCode = -0.5;
    private const double HighestCode = 1.5;

    /// <summary>Codes of 8-bit video below nominal white from which a sample counts as clipped: compression and rounding move a clipped
    /// sample by about this much.</summary>
    private const double ClippingMarginCodes = 3;

    private readonly ColourDescription _colour;
    private readonly LightChannel _channel;
    private readonly float[] _toLight;
    private readonly ChromaRows _chroma = new();
    private readonly (double R, double G, double B, double Offset) _repair;
    private float[] _rowOffsets = [];
    private bool _coloured;

    /// <summary>A converter for one clip.</summary>
    /// <param name="colour">How the samples are coded: the reader's description.</param>
    /// <param name="channel">The channel wanted.</param>
    public LinearLight(ColourDescription colour, LightChannel channel)
    {
        _colour = colour;
        _channel = channel;
        _repair = ColourWeights.Repair(colour.Matrix, colour.FullRange, channel);
        int count = (int)((HighestCode - LowestCode) * StepsPerUnit) + 1;
        _toLight = new float[count];
        for (int i = 0; i < count; i++)
            _toLight[i] = (float)TransferCurve.ToLight(colour.Transfer, LowestCode + (i / (double)StepsPerUnit));
        ClippedFrom = (float)TransferCurve.ToLight(colour.Transfer, 1 - (ClippingMarginCodes / 219));
    }

    /// <summary>Light from which a sample counts as clipped: the true light was this or more. A camera cuts its signal off at nominal white,
    /// before the codes are made.</summary>
    public float ClippedFrom { get; }

    /// <summary>Converts a frame.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="light">Receives width x height values, row by row; must be at least that long.</param>
    public void Convert(RawFrame frame, Span<float> light) => Convert(frame, frame.Region, light);

    /// <summary>Converts a part of a frame; its values are those that converting all of the frame would give.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="part">The part, in the coded picture; inside the frame's region, and beginning at an even column of it.</param>
    /// <param name="light">Receives width x height values, row by row; must be at least that long.</param>
    public void Convert(RawFrame frame, PixelRegion part, Span<float> light)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(light.Length, part.Width * part.Height, nameof(light));
        PixelRegion all = frame.Region;
        int left = part.X - all.X, top = part.Y - all.Y;
        if (left < 0 || top < 0 || left + part.Width > all.Width || top + part.Height > all.Height || (left & 1) != 0)
            throw new ArgumentOutOfRangeException(nameof(part), part, "The part lies in the frame and begins at an even column of it.");
        for (int y = 0; y < part.Height; y++)
        {
            Span<float> row = light.Slice(y * part.Width, part.Width);
            if (frame.Layout == PlaneLayout.Bgr24)
                ConvertBgr(frame.Plane0.AsSpan(3 * (((top + y) * all.Width) + left), 3 * part.Width), row);
            else if (frame.BitDepth > 8)
                ConvertPlanes<ushort>(frame, left, top + y, row, y == 0);
            else
                ConvertPlanes<byte>(frame, left, top + y, row, y == 0);
        }
    }

    // Places in the table are computed in floating point: place = code * gain + offset, plus what the colour samples add.
    private void ConvertPlanes<T>(RawFrame frame, int left, int y, Span<float> light, bool begins)
        where T : unmanaged
    {
        int scale = 1 << (frame.BitDepth - 8);
        double lumaGain = StepsPerUnit / (_colour.FullRange ? (256.0 * scale) - 1 : 219.0 * scale);
        double lumaOffset = _colour.FullRange ? 0 : 16.0 * scale;
        float offset = (float)((-LowestCode * StepsPerUnit) + 0.5 - (lumaOffset * lumaGain));
        if (begins)
        {
            LightChannel channel = frame.Layout == PlaneLayout.Luma ? LightChannel.Luma : _channel;
            (_, double cb, double cr) = ColourWeights.Decoding(_colour.Matrix, channel);
            _coloured = cb != 0 || cr != 0;
            double chromaGain = StepsPerUnit / (_colour.FullRange ? (256.0 * scale) - 1 : 224.0 * scale);
            _chroma.Begin(frame, (float)(cb * chromaGain), (float)(cr * chromaGain), 128 * scale, _colour.ChromaLeftSited);
            if (_rowOffsets.Length != light.Length)
                _rowOffsets = new float[light.Length];
            if (!_coloured)
                _rowOffsets.AsSpan().Fill(offset);
        }

        if (_coloured)
            _chroma.Fill<T>(left, y, offset, _rowOffsets);
        ReadOnlySpan<T> luma = MemoryMarshal.Cast<byte, T>(frame.Plane0);
        ToLight(luma.Slice((y * frame.Region.Width) + left, light.Length), (float)lumaGain, _rowOffsets, light);
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private unsafe void ToLight<T>(ReadOnlySpan<T> codes, float gain, ReadOnlySpan<float> offsets, Span<float> light)
        where T : unmanaged
    {
        ReadOnlySpan<float> table = _toLight;
        offsets = offsets[..codes.Length];
        light = light[..codes.Length];
        int x = 0;
        if (Avx2.IsSupported)
        {
            Vector256<float> gains = Vector256.Create(gain);
            Vector256<int> last = Vector256.Create(table.Length - 1);
            fixed (float* start = table, shift = offsets, target = light)
            {
                for (; x + 8 <= codes.Length; x += 8)
                {
                    Vector256<int> places = Vector256.ConvertToInt32((SampleCodes.Eight(codes, x) * gains) + Vector256.Load(shift + x));
                    places = Vector256.Min(Vector256.Max(places, Vector256<int>.Zero), last);
                    Avx2.GatherVector256(start, places, sizeof(float)).Store(target + x);
                }
            }
        }

        for (; x < codes.Length; x++)
        {
            int place = (int)((ChromaRows.Code(codes[x]) * gain) + offsets[x]);
            light[x] = table[Math.Clamp(place, 0, table.Length - 1)];
        }
    }

    // The decoder cut colours off at 255 that its matrix took beyond. The channel's own code there says only that the light was no less,
    // so it counts as clipped; a cut in another channel moves this one by less than a tenth of what was cut.
    private void ConvertBgr(ReadOnlySpan<byte> samples, Span<float> light)
    {
        (double r, double g, double b, double offset) = _repair;
        const double perCode = StepsPerUnit / 255.0;
        float red = (float)(r * perCode), green = (float)(g * perCode), blue = (float)(b * perCode);
        float zero = (float)(((offset - LowestCode) * StepsPerUnit) + 0.5);
        int own = b > Math.Max(r, g) ? 0 : (g > r ? 1 : 2), white = (int)((1 - LowestCode) * StepsPerUnit);
        ReadOnlySpan<float> table = _toLight;
        for (int i = 0; i < light.Length; i++)
        {
            int place = (int)((samples[3 * i] * blue) + (samples[(3 * i) + 1] * green) + (samples[(3 * i) + 2] * red) + zero);
            int least = samples[(3 * i) + own] == byte.MaxValue ? white : 0;
            light[i] = table[Math.Clamp(place, least, table.Length - 1)];
        }
    }
}
