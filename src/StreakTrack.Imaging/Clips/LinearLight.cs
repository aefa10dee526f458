using System.Runtime.InteropServices;

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
    private float[] _rowOffsets = [];
    private float[] _chromaRow = [];

    /// <summary>A converter for one clip.</summary>
    /// <param name="colour">How the samples are coded: the reader's description.</param>
    /// <param name="channel">The channel wanted.</param>
    public LinearLight(ColourDescription colour, LightChannel channel)
    {
        _colour = colour;
        _channel = channel;
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
    public void Convert(RawFrame frame, Span<float> light)
    {
        int width = frame.Region.Width, height = frame.Region.Height;
        ArgumentOutOfRangeException.ThrowIfLessThan(light.Length, width * height, nameof(light));
        light = light[..(width * height)];
        if (frame.Layout == PlaneLayout.Bgr24)
            ConvertBgr(frame.Plane0, light);
        else if (frame.BitDepth > 8)
            ConvertPlanes(frame, MemoryMarshal.Cast<byte, ushort>(frame.Plane0), light);
        else
            ConvertPlanes<byte>(frame, frame.Plane0, light);
    }

    // Places in the table are computed in floating point: place = code * gain + offset, plus what the colour samples add.
    private void ConvertPlanes<T>(RawFrame frame, ReadOnlySpan<T> luma, Span<float> light)
        where T : unmanaged
    {
        int width = frame.Region.Width, height = frame.Region.Height;
        int scale = 1 << (frame.BitDepth - 8);
        double lumaGain = StepsPerUnit / (_colour.FullRange ? (256.0 * scale) - 1 : 219.0 * scale);
        double chromaGain = StepsPerUnit / (_colour.FullRange ? (256.0 * scale) - 1 : 224.0 * scale);
        double lumaOffset = _colour.FullRange ? 0 : 16.0 * scale;
        float gain = (float)lumaGain;
        float offset = (float)((-LowestCode * StepsPerUnit) + 0.5 - (lumaOffset * lumaGain));

        LightChannel channel = frame.Layout == PlaneLayout.Luma ? LightChannel.Luma : _channel;
        (_, double cb, double cr) = ColourWeights.Decoding(_colour.Matrix, channel);
        bool coloured = cb != 0 || cr != 0;
        var chroma = new ChromaRows(frame, (float)(cb * chromaGain), (float)(cr * chromaGain), 128 * scale, _colour.ChromaLeftSited);
        if (_rowOffsets.Length != width)
        {
            _rowOffsets = new float[width];
            _chromaRow = new float[width + 1];
        }

        Span<float> offsets = _rowOffsets;
        offsets.Fill(offset);
        for (int y = 0; y < height; y++)
        {
            if (coloured)
                chroma.Fill<T>(y, offset, _chromaRow, offsets);
            ToLight(luma.Slice(y * width, width), gain, offsets, light.Slice(y * width, width));
        }
    }

    private void ToLight<T>(ReadOnlySpan<T> codes, float gain, ReadOnlySpan<float> offsets, Span<float> light)
        where T : unmanaged
    {
        ReadOnlySpan<float> table = _toLight;
        offsets = offsets[..codes.Length];
        light = light[..codes.Length];
        for (int x = 0; x < codes.Length; x++)
        {
            int place = (int)((ChromaRows.Code(codes[x]) * gain) + offsets[x]);
            if ((uint)place >= (uint)table.Length)
                place = place < 0 ? 0 : table.Length - 1;
            light[x] = table[place];
        }
    }

    private void ConvertBgr(ReadOnlySpan<byte> samples, Span<float> light)
    {
        (double r, double g, double b, double offset) = ColourWeights.Repair(_colour.Matrix, _colour.FullRange, _channel);
        const double perCode = StepsPerUnit / 255.0;
        float red = (float)(r * perCode), green = (float)(g * perCode), blue = (float)(b * perCode);
        float zero = (float)(((offset - LowestCode) * StepsPerUnit) + 0.5);
        ReadOnlySpan<float> table = _toLight;
        samples = samples[..(3 * light.Length)];
        for (int i = 0; i < light.Length; i++)
        {
            int place = (int)((samples[3 * i] * blue) + (samples[(3 * i) + 1] * green) + (samples[(3 * i) + 2] * red) + zero);
            if ((uint)place >= (uint)table.Length)
                place = place < 0 ? 0 : table.Length - 1;
            light[i] = table[place];
        }
    }
}
