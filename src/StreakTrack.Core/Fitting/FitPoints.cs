namespace StreakTrack.Core.Fitting;

/// <summary>The points of a fit, in the order of time, with the standard deviation that each is given.</summary>
internal sealed class FitPoints
{
    private readonly double[] _gaps;

    public FitPoints(int[] indices, double[] times, double[] amplitudes, double[] sigmas)
    {
        Indices = indices;
        Times = times;
        Amplitudes = amplitudes;
        Sigmas = sigmas;
        double[] gaps = [.. times.Skip(1).Zip(times, (later, earlier) => later - earlier)];
        double[] positive = [.. gaps.Where(gap => gap > 0).Order()];
        Spacing = positive.Length > 0 ? positive[positive.Length / 2] : 1;

        // In spacings; two points at one time are treated as neighbours, since equal ones would leave no noise between them.
        _gaps = [0, .. gaps.Select(gap => gap > 0 ? gap / Spacing : 1)];
    }

    /// <summary>Position of each point in the data handed in.</summary>
    public int[] Indices { get; }

    public double[] Times { get; }

    public double[] Amplitudes { get; }

    public double[] Sigmas { get; }

    public int Count => Times.Length;

    /// <summary>Median distance of neighbouring points, in s.</summary>
    public double Spacing { get; }

    public FitPoints WithSigmas(double[] sigmas) => new(Indices, Times, Amplitudes, sigmas);

    public FitPoints WithAmplitudes(double[] amplitudes) => new(Indices, Times, amplitudes, Sigmas);

    public FitPoints Where(Func<int, bool> keep)
    {
        int[] kept = [.. Enumerable.Range(0, Count).Where(keep)];
        return new FitPoints(
            [.. kept.Select(i => Indices[i])], [.. kept.Select(i => Times[i])], [.. kept.Select(i => Amplitudes[i])],
            [.. kept.Select(i => Sigmas[i])]);
    }

    /// <summary>Makes values independent that have the correlation given one spacing apart and its powers elsewhere.</summary>
    public void Whiten(Span<double> values, double correlation)
    {
        for (int i = values.Length - 1; i > 0; i--)
        {
            double carry = Carry(i, correlation);
            values[i] = (values[i] - carry * values[i - 1]) / Math.Sqrt(1 - carry * carry);
        }
    }

    /// <summary>Makes independent values correlated: the inverse of <see cref="Whiten"/>.</summary>
    public void Colour(Span<double> values, double correlation)
    {
        for (int i = 1; i < values.Length; i++)
        {
            double carry = Carry(i, correlation);
            values[i] = carry * values[i - 1] + Math.Sqrt(1 - carry * carry) * values[i];
        }
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
            double carry = Carry(i, correlation);
            sum += Math.Log(1 - carry * carry);
        }

        return sum;
    }

    // A negative correlation has no meaning between points that are a fraction of a spacing apart; there it only links whole neighbours.
    private double Carry(int i, double correlation) =>
        correlation > 0 ? (_gaps[i] == 1 ? correlation : Math.Pow(correlation, _gaps[i])) : _gaps[i] < 1.5 ? correlation : 0;
}
