namespace StreakTrack.Core.Fitting;

/// <summary>The points of a fit, in the order of time, with the standard deviation that each is given.</summary>
internal sealed class FitPoints
{
    private readonly double[] _gaps;
    private readonly int[] _previous;
    private readonly bool[] _alone;

    /// <summary>Creates the points.</summary>
    /// <param name="indices">Position of each in the data handed in.</param>
    /// <param name="times">Time of each, in s.</param>
    /// <param name="amplitudes">Amplitude of each, in mm.</param>
    /// <param name="sigmas">Standard deviation given to each.</param>
    /// <param name="alone">
    /// Points whose noise has nothing to do with that of their neighbours, because a robust loss took them for strays; null for none.
    /// </param>
    public FitPoints(int[] indices, double[] times, double[] amplitudes, double[] sigmas, bool[]? alone = null)
    {
        Indices = indices;
        Times = times;
        Amplitudes = amplitudes;
        Sigmas = sigmas;
        double[] gaps = [.. times.Skip(1).Zip(times, (later, earlier) => later - earlier)];
        double[] positive = [.. gaps.Where(gap => gap > 0).Order()];
        Spacing = positive.Length > 0 ? positive[positive.Length / 2] : 1;

        // In spacings, from the last point before that is not alone; two points at one time are treated as neighbours, since equal ones
        // would leave no noise between them.
        _alone = alone ?? new bool[times.Length];
        _gaps = new double[times.Length];
        _previous = new int[times.Length];
        int previous = -1;
        for (int i = 0; i < times.Length; i++)
        {
            _previous[i] = _alone[i] ? -1 : previous;
            if (_previous[i] >= 0)
            {
                double gap = times[i] - times[previous];
                _gaps[i] = gap > 0 ? gap / Spacing : 1;
            }

            if (!_alone[i])
                previous = i;
        }
    }

    /// <summary>Position of each point in the data handed in.</summary>
    public int[] Indices { get; }

    public double[] Times { get; }

    public double[] Amplitudes { get; }

    public double[] Sigmas { get; }

    public int Count => Times.Length;

    /// <summary>Median distance of neighbouring points, in s.</summary>
    public double Spacing { get; }

    public FitPoints WithSigmas(double[] sigmas, bool[]? alone = null) => new(Indices, Times, Amplitudes, sigmas, alone ?? _alone);

    public FitPoints WithAmplitudes(double[] amplitudes) => new(Indices, Times, amplitudes, Sigmas, _alone);

    public FitPoints Where(Func<int, bool> keep)
    {
        int[] kept = [.. Enumerable.Range(0, Count).Where(keep)];
        return new FitPoints(
            [.. kept.Select(i => Indices[i])], [.. kept.Select(i => Times[i])], [.. kept.Select(i => Amplitudes[i])],
            [.. kept.Select(i => Sigmas[i])], [.. kept.Select(i => _alone[i])]);
    }

    /// <summary>Makes values independent that have the correlation given one spacing apart and its powers elsewhere.</summary>
    public void Whiten(Span<double> values, double correlation)
    {
        for (int i = values.Length - 1; i > 0; i--)
        {
            if (_previous[i] < 0)
                continue;
            double carry = Carry(i, correlation);
            values[i] = (values[i] - carry * values[_previous[i]]) / Math.Sqrt(1 - carry * carry);
        }
    }

    /// <summary>The product of the correlation matrix with a vector.</summary>
    /// <param name="values">The vector.</param>
    /// <param name="product">Receives the product.</param>
    /// <param name="correlation">Correlation one spacing apart.</param>
    public void Correlate(ReadOnlySpan<double> values, Span<double> product, double correlation)
    {
        // Correlations that fall as powers of the distance add up along the series: one sum from the left, one from the right.
        double[] left = values.ToArray(), right = values.ToArray();
        for (int i = 0; i < left.Length; i++)
        {
            if (_previous[i] >= 0)
                left[i] += Carry(i, correlation) * left[_previous[i]];
        }

        for (int i = right.Length - 1; i > 0; i--)
        {
            if (_previous[i] >= 0)
                right[_previous[i]] += Carry(i, correlation) * right[i];
        }

        for (int i = 0; i < product.Length; i++)
            product[i] = left[i] + right[i] - values[i];
    }

    /// <summary>Sum of the logarithms of the variances given: what the weights cost in the likelihood.</summary>
    public double LogVariances()
    {
        double sum = 0;
        foreach (double sigma in Sigmas)
            sum += 2 * Math.Log(sigma);
        return sum;
    }

    /// <summary>Logarithm of the determinant of the correlation matrix.</summary>
    public double LogDeterminant(double correlation)
    {
        double sum = 0;
        for (int i = 1; i < Count; i++)
        {
            double carry = _previous[i] < 0 ? 0 : Carry(i, correlation);
            sum += Math.Log(1 - carry * carry);
        }

        return sum;
    }

    private double Carry(int i, double correlation) => _gaps[i] == 1 ? correlation : Math.Pow(correlation, _gaps[i]);
}
