using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

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

    /// <summary>Brightness, against the brightest column, from which a column has a say in the width across.</summary>
    private const float LitShare = 0.3f;

    /// <summary>Share of its light that the scene beside the streak lacks where somebody stands before it, and light of the scene, in linear units, that
    /// is enough to tell.</summary>
    private const float CoveredLack = 0.3f, LeastScene = 0.003f;

    /// <summary>Lit columns, in sigmas, that tell the width across together.</summary>
    private const double LeastLitSigmas = 12;

    private readonly int _length;
    private readonly float[] _weights;
    private readonly bool[] _beside;
    private readonly float[] _ambient;
    private readonly float _clipLevel;
    private readonly int _smoothing, _leastLit;
    private readonly float[] _sum, _weightSum, _squareSum, _background, _smooth;
    private readonly float[] _fullSquareSum, _fullWeightSum;
    private readonly int _rows;
    private readonly double[] _rowSums;
    private readonly float[] _kept, _lit;
    private readonly float[] _ambientBeside, _uncovered;
    private readonly bool[] _covered;
    private bool _allKept = true, _whole;

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
        _leastLit = (int)(LeastLitSigmas * across.SigmaPx);
        _rows = band.WidthPx;
        _weights = across.Weights;
        _rowSums = new double[_rows];
        _lit = new float[_length];
        _kept = new float[_rows * _length];
        Array.Fill(_kept, 1);
        _beside = new bool[band.WidthPx];
        _sum = new float[_length];
        _weightSum = new float[_length];
        _squareSum = new float[_length];
        _background = new float[_length];
        _smooth = new float[_length];
        _fullSquareSum = new float[_length];
        _fullWeightSum = new float[_length];
        _covered = new bool[_length];
        _uncovered = new float[_rows * _length];
        for (int j = 0; j < _rows; j++)
        {
            _beside[j] = Math.Abs(j - band.HalfWidthPx) > QuietReach * across.SigmaPx;
            for (int i = 0; i < _length && !_beside[j]; i++)
            {
                float w = _weights[(j * _length) + i];
                _fullWeightSum[i] += w;
                _fullSquareSum[i] += w * w;
            }
        }

        for (int j = 0; j < _rows; j++)
        {
            if (_beside[j])
                AddBackground(_ambient.AsSpan(j * _length, _length), _uncovered.AsSpan(0, _length), 0);
        }

        SmoothBackground();
        _ambientBeside = [.. _smooth];
    }

    /// <summary>Whether somebody may stand before the scene in some of the frames. Who takes photographs one by one waits until nobody does.</summary>
    public bool MayBeCovered { get; init; } = true;

    /// <summary>Samples of the last strip that were clipped inside the streak.</summary>
    public int ClippedSamples { get; private set; }

    /// <summary>Gain of the last strip against the ambient picture, from the ruler's own contrast beside the streak; 1 where it has
    /// none.</summary>
    public double Gain { get; private set; } = 1;

    /// <summary>Width of the streak across in the last strip: standard deviation of a Gaussian of the same width at half height, in px; NaN where
    /// it is short, clipped, or does not stand out.</summary>
    public double AcrossSigmaPx { get; private set; } = double.NaN;

    /// <summary>Share of the information on a column's light that clipping left in the last strip.</summary>
    /// <param name="column">The column.</param>
    public double InformationLeft(int column) =>
        _fullSquareSum[column] > 0 ? (_whole ? _fullSquareSum : _squareSum)[column] / (double)_fullSquareSum[column] : 0;

    /// <summary>Laser light along the strip, summed across the streak.</summary>
    /// <param name="strip">Samples of the frame.</param>
    /// <param name="light">Receives the light; NaN where it cannot be told because all is clipped, 0 where something covers the scene.</param>
    public void Profile(ReadOnlySpan<float> strip, Span<float> light)
    {
        Collapse(strip, light);
        if (!MayBeCovered || !FindCovered())
            return;

        // What covers the scene has a brightness and contrast of its own.
        strip.CopyTo(_uncovered);
        for (int at = 0; at < _uncovered.Length; at++)
            _uncovered[at] = _covered[at % _length] ? float.NaN : _uncovered[at];
        Collapse(_uncovered, light);
        for (int i = 0; i < _length; i++)
            light[i] = _covered[i] ? 0 : light[i];
    }

    // Columns beside which the scene is much darker than its brightness elsewhere makes it; with their blurred edges.
    private bool FindCovered()
    {
        bool any = false;
        float gain = (float)Gain;
        _covered.AsSpan().Clear();
        for (int i = 0; i < _length; i++)
        {
            float usual = _ambientBeside[i];
            if (!(usual > LeastScene && _smooth[i] < -CoveredLack * gain * usual))
                continue;
            any = true;
            int from = Math.Max(0, i - _smoothing);
            _covered.AsSpan(from, Math.Min(_length - 1, i + _smoothing) - from + 1).Fill(true);
        }

        return any;
    }

    private void Collapse(ReadOnlySpan<float> strip, Span<float> light)
    {
        Gain = SceneGain.Of(strip, _ambient, _beside, _length);
        float gain = (float)Gain;
        _sum.AsSpan().Clear();
        _background.AsSpan().Clear();
        ClippedSamples = MarkSpoilt(strip, out bool allKnown);

        // Where every sample counts, the sums of weights are the same in every frame.
        _whole = allKnown && _allKept;
        if (!_whole)
        {
            _weightSum.AsSpan().Clear();
            _squareSum.AsSpan().Clear();
        }

        for (int j = 0; j < _rows; j++)
        {
            ReadOnlySpan<float> row = strip.Slice(j * _length, _length), dark = _ambient.AsSpan(j * _length, _length);
            if (_beside[j])
            {
                AddBackground(row, dark, gain);
            }
            else if (_whole)
            {
                AddWhole(row, dark, gain, _weights.AsSpan(j * _length, _length));
            }
            else
            {
                AddLight(row, dark, gain, _weights.AsSpan(j * _length, _length), _kept.AsSpan(j * _length, _length));
            }
        }

        SmoothBackground();
        float[] weightSum = _whole ? _fullWeightSum : _weightSum, squareSum = _whole ? _fullSquareSum : _squareSum;
        for (int i = 0; i < _length; i++)
        {
            light[i] = squareSum[i] > LeastInformation * _fullSquareSum[i]
                ? (_sum[i] - (_smooth[i] * weightSum[i])) / squareSum[i]
                : float.NaN;
        }

        AcrossSigmaPx = MeasureAcross(strip, gain, light);
    }

    // From all columns together that are lit and nowhere clipped, so that the ruler's print and texture have little say; not from a short streak's.
    private double MeasureAcross(ReadOnlySpan<float> strip, float gain, ReadOnlySpan<float> light)
    {
        float brightest = 0, columns = 0;
        for (int i = 0; i < _length; i++)
            brightest = light[i] > brightest && IsWhole(i) ? light[i] : brightest;
        for (int i = 0; i < _length; i++)
            columns += _lit[i] = light[i] > LitShare * brightest && IsWhole(i) ? 1 : 0;
        if (columns < _leastLit)
            return double.NaN;
        for (int j = 0; j < _rows; j++)
            _rowSums[j] = LitSum(strip.Slice(j * _length, _length), _ambient.AsSpan(j * _length, _length), gain);
        return AcrossShape.WidthOf(_rowSums);

        bool IsWhole(int column) => _whole || _squareSum[column] == _fullSquareSum[column];
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private float LitSum(ReadOnlySpan<float> row, ReadOnlySpan<float> dark, float gain)
    {
        ReadOnlySpan<float> lit = _lit.AsSpan(0, row.Length);
        dark = dark[..row.Length];
        Vector256<float> sums = Vector256<float>.Zero;
        int i = 0;
        for (; i + Vector256<float>.Count <= row.Length; i += Vector256<float>.Count)
        {
            Vector256<float> value = Vector256.Create(row[i..]) - (gain * Vector256.Create(dark[i..]));
            sums += Vector256.Create(lit[i..]) * (value & Vector256.Equals(value, value));
        }

        float sum = Vector256.Sum(sums);
        for (; i < row.Length; i++)
        {
            float value = row[i] - (gain * dark[i]);
            sum += lit[i] > 0 && !float.IsNaN(value) ? value : 0;
        }

        return sum;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void AddBackground(ReadOnlySpan<float> row, ReadOnlySpan<float> dark, float gain)
    {
        Span<float> background = _background.AsSpan(0, row.Length);
        dark = dark[..row.Length];
        ref float values = ref MemoryMarshal.GetReference(row), ambient = ref MemoryMarshal.GetReference(dark);
        ref float sums = ref MemoryMarshal.GetReference(background);
        int i = 0;
        for (; i + Vector256<float>.Count <= row.Length; i += Vector256<float>.Count)
        {
            nuint at = (nuint)i;
            Vector256<float> value = Vector256.LoadUnsafe(ref values, at) - (gain * Vector256.LoadUnsafe(ref ambient, at));
            (Vector256.LoadUnsafe(ref sums, at) + (value & Vector256.Equals(value, value))).StoreUnsafe(ref sums, at);
        }

        for (; i < row.Length; i++)
        {
            float value = row[i] - (gain * dark[i]);
            background[i] += float.IsNaN(value) ? 0 : value;
        }
    }

    // A row of which every sample counts.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void AddWhole(ReadOnlySpan<float> row, ReadOnlySpan<float> dark, float gain, ReadOnlySpan<float> weights)
    {
        Span<float> sums = _sum.AsSpan(0, row.Length);
        dark = dark[..row.Length];
        weights = weights[..row.Length];
        ref float values = ref MemoryMarshal.GetReference(row), ambient = ref MemoryMarshal.GetReference(dark);
        ref float shares = ref MemoryMarshal.GetReference(weights), sum = ref MemoryMarshal.GetReference(sums);
        int i = 0;
        for (; i + Vector256<float>.Count <= row.Length; i += Vector256<float>.Count)
        {
            nuint at = (nuint)i;
            Vector256<float> value = Vector256.LoadUnsafe(ref values, at) - (gain * Vector256.LoadUnsafe(ref ambient, at));
            (Vector256.LoadUnsafe(ref sum, at) + (Vector256.LoadUnsafe(ref shares, at) * value)).StoreUnsafe(ref sum, at);
        }

        for (; i < row.Length; i++)
            sums[i] += weights[i] * (row[i] - (gain * dark[i]));
    }

    // Samples outside the picture (NaN) and spoilt ones get no weight.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void AddLight(
        ReadOnlySpan<float> row, ReadOnlySpan<float> dark, float gain, ReadOnlySpan<float> weights, ReadOnlySpan<float> kept)
    {
        Span<float> sum = _sum, weightSum = _weightSum, squareSum = _squareSum;
        int i = 0;
        for (; i + Vector256<float>.Count <= row.Length; i += Vector256<float>.Count)
        {
            Vector256<float> value = Vector256.Create(row[i..]) - (gain * Vector256.Create(dark[i..]));
            Vector256<float> known = Vector256.Equals(value, value);
            Vector256<float> w = Vector256.Create(weights[i..]) * Vector256.Create(kept[i..]) & known;
            (Vector256.Create<float>(sum[i..]) + (w * (value & known))).CopyTo(sum[i..]);
            (Vector256.Create<float>(weightSum[i..]) + w).CopyTo(weightSum[i..]);
            (Vector256.Create<float>(squareSum[i..]) + (w * w)).CopyTo(squareSum[i..]);
        }

        for (; i < row.Length; i++)
        {
            float value = row[i] - (gain * dark[i]), w = weights[i] * kept[i];
            if (float.IsNaN(value))
                continue;
            sum[i] += w * value;
            weightSum[i] += w;
            squareSum[i] += w * w;
        }
    }

    // Marks what a clipped sample spoils around it: codecs smooth over a couple of px. Returns the number of clipped samples, and whether
    // all samples within the streak's reach lie in the picture.
    private int MarkSpoilt(ReadOnlySpan<float> strip, out bool allKnown)
    {
        const int reach = 2;
        int clipped = 0;
        allKnown = true;
        if (!_allKept)
            Array.Fill(_kept, 1);
        _allKept = true;
        for (int j = 0; j < _rows; j++)
        {
            if (_beside[j])
                continue;
            ReadOnlySpan<float> row = strip.Slice(j * _length, _length);
            allKnown = allKnown && IsKnown(row);
            for (int i = NextClipped(row, 0); i < row.Length; i = NextClipped(row, i))
            {
                int start = i;
                while (i < row.Length && row[i] >= _clipLevel)
                    i++;
                clipped += i - start;
                _allKept = false;
                int from = Math.Max(0, start - reach), count = Math.Min(_length - 1, i - 1 + reach) - from + 1;
                for (int k = Math.Max(0, j - reach); k <= Math.Min(_rows - 1, j + reach); k++)
                    _kept.AsSpan((k * _length) + from, count).Clear();
            }
        }

        return clipped;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static bool IsKnown(ReadOnlySpan<float> row)
    {
        ref float values = ref MemoryMarshal.GetReference(row);
        int i = 0;
        for (; i + Vector256<float>.Count <= row.Length; i += Vector256<float>.Count)
        {
            Vector256<float> value = Vector256.LoadUnsafe(ref values, (nuint)i);
            if (!Vector256.EqualsAll(value, value))
                return false;
        }

        for (; i < row.Length; i++)
        {
            if (float.IsNaN(row[i]))
                return false;
        }

        return true;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private int NextClipped(ReadOnlySpan<float> row, int from)
    {
        Vector256<float> level = Vector256.Create(_clipLevel);
        int i = from;
        ref float values = ref MemoryMarshal.GetReference(row);
        while (i + Vector256<float>.Count <= row.Length
            && !Vector256.GreaterThanOrEqualAny(Vector256.LoadUnsafe(ref values, (nuint)i), level))
        {
            i += Vector256<float>.Count;
        }

        while (i < row.Length && !(row[i] >= _clipLevel))
            i++;
        return i;
    }

    // Glare and the lamp's flicker change slowly along the strip.
    private void SmoothBackground()
    {
        float scale = 1f / Math.Max(1, _beside.Count(b => b));
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
