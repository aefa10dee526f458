using System.Runtime.CompilerServices;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Collapses a strip to the laser light along it: ambient subtracted, rows weighted as the streak is bright across, and what is
/// left beside the streak taken off.</summary>
/// <remarks>
/// Least squares of a known shape across the strip, sample column by sample column: light = sum(w x) / sum(w w). Clipped samples are
/// left out of both sums, so that a saturated core does not flatten the profile: the flanks across the streak still tell its light.
/// One object belongs to one thread.
/// </remarks>
internal sealed class StripProfiler
{
    /// <summary>Rows farther from the middle than this many sigma see background only.</summary>
    public const double QuietReach = 4;

    /// <summary>Share of the information that must be left for a column to count.</summary>
    private const float LeastInformation = 0.01f;

    private readonly int _length;
    private readonly float[] _weights;
    private readonly bool[] _beside;
    private readonly float[] _ambient;
    private readonly float _clipLevel;
    private readonly int _smoothing;
    private readonly float[] _sum, _weightSum, _squareSum, _background, _smooth;
    private readonly float[] _fullSquareSum;
    private readonly int _rows;
    private readonly bool[] _spoilt;

    /// <summary>Prepares for one clip.</summary>
    /// <param name="band">The strip.</param>
    /// <param name="across">How the streak's light is spread across the strip.</param>
    /// <param name="ambient">Samples of the strip without the laser.</param>
    /// <param name="clipLevel">Light at and above which a sample is clipped.</param>
    public StripProfiler(StripGeometry band, AcrossShape across, float[] ambient, float clipLevel)
    {
        _length = band.LengthPx;
        _ambient = ambient;
        _clipLevel = clipLevel;
        _smoothing = Math.Max(2, (int)Math.Round(3 * across.SigmaPx));
        _rows = band.WidthPx;
        _weights = across.Weights;
        _spoilt = new bool[_rows * _length];
        _beside = new bool[band.WidthPx];
        _sum = new float[_length];
        _weightSum = new float[_length];
        _squareSum = new float[_length];
        _background = new float[_length];
        _smooth = new float[_length];
        _fullSquareSum = new float[_length];
        for (int j = 0; j < _rows; j++)
        {
            _beside[j] = Math.Abs(j - band.HalfWidthPx) > QuietReach * across.SigmaPx;
            for (int i = 0; i < _length; i++)
                _fullSquareSum[i] += _beside[j] ? 0 : _weights[(j * _length) + i] * _weights[(j * _length) + i];
        }
    }

    /// <summary>Samples of the last strip that were clipped inside the streak.</summary>
    public int ClippedSamples { get; private set; }

    /// <summary>Gain of the last strip against the ambient picture, from the ruler's own contrast beside the streak; 1 where it has
    /// none.</summary>
    public double Gain { get; private set; } = 1;

    /// <summary>Laser light along the strip, summed across the streak.</summary>
    /// <param name="strip">Samples of the frame.</param>
    /// <param name="light">Receives the light; NaN where there is none to be had.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public void Profile(ReadOnlySpan<float> strip, Span<float> light)
    {
        Gain = SceneGain.Of(strip, _ambient, _beside, _length);
        float gain = (float)Gain;
        _sum.AsSpan().Clear();
        _weightSum.AsSpan().Clear();
        _squareSum.AsSpan().Clear();
        _background.AsSpan().Clear();
        int besideRows = 0;
        ClippedSamples = MarkSpoilt(strip);
        bool whole = ClippedSamples == 0;
        for (int j = 0; j < _rows; j++)
        {
            ReadOnlySpan<float> row = strip.Slice(j * _length, _length), dark = _ambient.AsSpan(j * _length, _length);
            if (_beside[j])
            {
                besideRows++;
                for (int i = 0; i < row.Length; i++)
                {
                    float value = row[i] - (gain * dark[i]);
                    _background[i] += float.IsNaN(value) ? 0 : value;
                }

                continue;
            }

            ReadOnlySpan<float> weights = _weights.AsSpan(j * _length, _length);
            ReadOnlySpan<bool> spoilt = _spoilt.AsSpan(j * _length, _length);
            for (int i = 0; i < row.Length; i++)
            {
                float value = row[i] - (gain * dark[i]), w = weights[i];
                if (float.IsNaN(value) || (!whole && spoilt[i]))
                    continue;
                _sum[i] += w * value;
                _weightSum[i] += w;
                _squareSum[i] += w * w;
            }
        }

        SmoothBackground(1f / Math.Max(1, besideRows));
        for (int i = 0; i < _length; i++)
        {
            light[i] = _squareSum[i] > LeastInformation * _fullSquareSum[i]
                ? (_sum[i] - (_smooth[i] * _weightSum[i])) / _squareSum[i]
                : float.NaN;
        }
    }

    // Marks what a clipped sample spoils around it: codecs smooth over a couple of px. Returns the number of clipped samples.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private int MarkSpoilt(ReadOnlySpan<float> strip)
    {
        const int reach = 2;
        int clipped = 0;
        for (int j = 0; j < _rows; j++)
        {
            if (_beside[j])
                continue;
            ReadOnlySpan<float> row = strip.Slice(j * _length, _length);
            for (int i = 0; i < row.Length; i++)
            {
                if (!(row[i] >= _clipLevel))
                    continue;
                if (clipped++ == 0)
                    Array.Clear(_spoilt);
                int from = Math.Max(0, i - reach), count = Math.Min(_length - 1, i + reach) - from + 1;
                for (int k = Math.Max(0, j - reach); k <= Math.Min(_rows - 1, j + reach); k++)
                    _spoilt.AsSpan((k * _length) + from, count).Fill(true);
            }
        }

        return clipped;
    }

    // Glare and the lamp's flicker change slowly along the strip.
    private void SmoothBackground(float scale)
    {
        double running = 0;
        int low = 0, high = 0;
        for (int i = 0; i < _length; i++)
        {
            while (high < Math.Min(_length, i + _smoothing + 1))
                running += _background[high++];
            while (low < i - _smoothing)
                running -= _background[low++];
            _smooth[i] = (float)(running / (high - low) * scale);
        }
    }
}
