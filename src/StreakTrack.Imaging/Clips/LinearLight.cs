namespace StreakTrack.Imaging.Clips;

/// <summary>Turns decoded samples into linear light of one channel: 0 = black, 1 = nominal white.</summary>
/// <remarks>
/// Values above nominal white are kept as far as the planes hold them, values below black stay negative, so that noise around black
/// keeps a mean of zero. Colour samples are interpolated at their true places.
/// </remarks>
public sealed class LinearLight
{
    private const int StepsPerUnit = 2048;
    private const double LowestCode = -0.5;
    private const double HighestCode = 1.5;

    private readonly ColourDescription _colour;
    private readonly LightChannel _channel;
    private readonly float[] _toLight;
    private float[] _cb = [];
    private float[] _cr = [];

    /// <summary>A converter for one clip.</summary>
    /// <param name="colour">How the samples are coded.</param>
    /// <param name="channel">The channel wanted.</param>
    public LinearLight(ColourDescription colour, LightChannel channel)
    {
        _colour = colour;
        _channel = channel;
        int count = (int)((HighestCode - LowestCode) * StepsPerUnit) + 1;
        _toLight = new float[count];
        for (int i = 0; i < count; i++)
            _toLight[i] = (float)TransferCurve.ToLight(colour.Transfer, LowestCode + (i / (double)StepsPerUnit));
    }

    /// <summary>Converts a frame.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="light">Receives width x height values, row by row; must be at least that long.</param>
    public void Convert(RawFrame frame, Span<float> light)
    {
        int width = frame.Region.Width, height = frame.Region.Height;
        ArgumentOutOfRangeException.ThrowIfLessThan(light.Length, width * height, nameof(light));
        if (frame.Layout == PlaneLayout.Bgr24)
        {
            ConvertBgr(frame, light);
            return;
        }

        bool wide = frame.BitDepth > 8;
        int scale = 1 << (frame.BitDepth - 8);
        (float lumaOffset, float lumaGain) = _colour.FullRange ? (0f, 1f / ((256 * scale) - 1)) : (16f * scale, 1f / (219 * scale));
        float chromaGain = _colour.FullRange ? 1f / ((256 * scale) - 1) : 1f / (224 * scale);
        (float cbWeight, float crWeight) = _channel == LightChannel.Luma || frame.Layout == PlaneLayout.Luma ? (0f, 0f) : ChromaWeights();
        bool needsCb = cbWeight != 0, needsCr = crWeight != 0;
        if (_cb.Length < width)
        {
            _cb = new float[width];
            _cr = new float[width];
        }

        for (int y = 0; y < height; y++)
        {
            if (needsCb)
                InterpolateChroma(frame, frame.Plane1, y, cbWeight * chromaGain, 128 * scale, _cb);
            if (needsCr)
                InterpolateChroma(frame, frame.Plane2, y, crWeight * chromaGain, 128 * scale, _cr);
            Span<float> row = light.Slice(y * width, width);
            int at = y * width;
            for (int x = 0; x < width; x++)
            {
                int code = wide ? frame.Plane0[2 * (at + x)] | (frame.Plane0[(2 * (at + x)) + 1] << 8) : frame.Plane0[at + x];
                float value = (code - lumaOffset) * lumaGain;
                if (needsCb)
                    value += _cb[x];
                if (needsCr)
                    value += _cr[x];
                row[x] = ToLight(value);
            }
        }
    }

    private float ToLight(float code)
    {
        float place = (code - (float)LowestCode) * StepsPerUnit;
        int index = (int)(place + 0.5f);
        return _toLight[Math.Clamp(index, 0, _toLight.Length - 1)];
    }

    // From Y'CbCr back to one primary: R' = Y' + 2 (1 - Kr) Cr, B' = Y' + 2 (1 - Kb) Cb, and G' from Y' = Kr R' + Kg G' + Kb B'.
    private (float Cb, float Cr) ChromaWeights()
    {
        (double kr, double kb) = _colour.Matrix switch
        {
            ColourMatrix.Bt601 => (0.299, 0.114),
            ColourMatrix.Bt2020 => (0.2627, 0.0593),
            _ => (0.2126, 0.0722),
        };
        double kg = 1 - kr - kb;
        return _channel switch
        {
            LightChannel.Red => (0, (float)(2 * (1 - kr))),
            LightChannel.Blue => ((float)(2 * (1 - kb)), 0),
            _ => ((float)(-2 * kb * (1 - kb) / kg), (float)(-2 * kr * (1 - kr) / kg)),
        };
    }

    private void InterpolateChroma(RawFrame frame, byte[] plane, int y, float gain, int middle, float[] row)
    {
        int width = frame.Region.Width;
        bool halfWidth = frame.Layout is PlaneLayout.Yuv420 or PlaneLayout.Yuv422;
        bool halfHeight = frame.Layout == PlaneLayout.Yuv420;
        int chromaWidth = halfWidth ? (width + 1) / 2 : width;
        int chromaHeight = halfHeight ? (frame.Region.Height + 1) / 2 : frame.Region.Height;
        bool wide = frame.BitDepth > 8;

        // Colour rows lie midway between the two luma rows that share them: a quarter row off each.
        int near = halfHeight ? y / 2 : y;
        int far = halfHeight ? Math.Clamp((y & 1) == 0 ? near - 1 : near + 1, 0, chromaHeight - 1) : near;
        float nearWeight = halfHeight ? 0.75f * gain : gain;
        float farWeight = gain - nearWeight;

        float At(int x) =>
            (nearWeight * (Sample(plane, (near * chromaWidth) + x, wide) - middle))
            + (farWeight * (Sample(plane, (far * chromaWidth) + x, wide) - middle));

        if (!halfWidth)
        {
            for (int x = 0; x < width; x++)
                row[x] = At(x);
            return;
        }

        float left = At(0), here = left;
        for (int k = 0; k < chromaWidth; k++)
        {
            float right = k + 1 < chromaWidth ? At(k + 1) : here;
            int x = 2 * k;
            if (_colour.ChromaLeftSited)
            {
                row[x] = here;
                if (x + 1 < width)
                    row[x + 1] = 0.5f * (here + right);
            }
            else
            {
                row[x] = (0.75f * here) + (0.25f * left);
                if (x + 1 < width)
                    row[x + 1] = (0.75f * here) + (0.25f * right);
            }

            left = here;
            here = right;
        }
    }

    private static int Sample(byte[] plane, int index, bool wide) => wide ? plane[2 * index] | (plane[(2 * index) + 1] << 8) : plane[index];

    private void ConvertBgr(RawFrame frame, Span<float> light)
    {
        int count = frame.Region.Width * frame.Region.Height;
        ReadOnlySpan<byte> samples = frame.Plane0;
        for (int i = 0; i < count; i++)
        {
            float b = samples[3 * i], g = samples[(3 * i) + 1], r = samples[(3 * i) + 2];
            float code = _channel switch
            {
                LightChannel.Red => r,
                LightChannel.Green => g,
                LightChannel.Blue => b,
                _ => (0.299f * r) + (0.587f * g) + (0.114f * b),
            };
            light[i] = ToLight(code / 255f);
        }
    }
}
