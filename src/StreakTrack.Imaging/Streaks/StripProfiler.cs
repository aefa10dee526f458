namespace StreakTrack.Imaging.Streaks;

/// <summary>Collapses a strip to the laser light along it: ambient subtracted, rows weighted as the streak is bright across, and what is
/// left beside the streak taken off.</summary>
/// <remarks>One object belongs to one thread.</remarks>
internal sealed class StripProfiler
{
    /// <summary>Rows farther from the middle than this many sigma see background only.</summary>
    private const double QuietReach = 4;

    private readonly int _length;
    private readonly float[] _weights;
    private readonly bool[] _beside;
    private readonly float[] _background;

    public StripProfiler(StripGeometry band, double acrossSigmaPx)
    {
        _length = band.LengthPx;
        _weights = new float[band.WidthPx];
        _beside = new bool[band.WidthPx];
        _background = new float[_length];
        double squares = 0;
        for (int j = 0; j < _weights.Length; j++)
        {
            double t = (j - band.HalfWidthPx) / acrossSigmaPx;
            _beside[j] = Math.Abs(t) > QuietReach;
            if (_beside[j])
                continue;
            _weights[j] = (float)(Math.Exp(-0.5 * t * t) / (Math.Sqrt(2 * Math.PI) * acrossSigmaPx));
            squares += _weights[j] * _weights[j];
        }

        // Least squares of a known shape: light = sum(w x) / sum(w w).
        for (int j = 0; j < _weights.Length; j++)
            _weights[j] /= (float)squares;
    }

    /// <summary>Laser light along the strip, summed across the streak.</summary>
    /// <param name="strip">Samples of the frame.</param>
    /// <param name="ambient">Samples of the scene without the laser.</param>
    /// <param name="light">Receives the light; NaN outside the picture.</param>
    /// <param name="noise">Robust standard deviation of the light where there is no streak, in the same unit.</param>
    public void Profile(ReadOnlySpan<float> strip, ReadOnlySpan<float> ambient, Span<float> light, out double noise)
    {
        light.Clear();
        _background.AsSpan().Clear();
        int besideRows = 0;
        float weightSum = 0;
        for (int j = 0; j < _weights.Length; j++)
        {
            ReadOnlySpan<float> row = strip.Slice(j * _length, _length), dark = ambient.Slice(j * _length, _length);
            if (_beside[j])
            {
                besideRows++;
                for (int i = 0; i < row.Length; i++)
                    _background[i] += row[i] - dark[i];
            }
            else
            {
                float w = _weights[j];
                weightSum += w;
                for (int i = 0; i < row.Length; i++)
                    light[i] += w * (row[i] - dark[i]);
            }
        }

        if (besideRows > 0)
        {
            float scale = weightSum / besideRows;
            for (int i = 0; i < light.Length; i++)
                light[i] -= scale * _background[i];
        }

        noise = NoiseOf(light);
    }

    // Differences of neighbours a few samples apart see no slow background; their lower half is noise even when a streak covers much.
    private static double NoiseOf(ReadOnlySpan<float> light)
    {
        const int apart = 4;
        var differences = new List<float>(light.Length);
        for (int i = apart; i < light.Length; i++)
        {
            float d = Math.Abs(light[i] - light[i - apart]);
            if (!float.IsNaN(d))
                differences.Add(d);
        }

        if (differences.Count < 16)
            return double.NaN;
        differences.Sort();

        // 0.3186 is the quartile of the absolute value of a standard normal variable; sqrt 2 because it is a difference.
        return Math.Max(differences[differences.Count / 4] / (0.3186 * Math.Sqrt(2)), 1e-7);
    }
}
