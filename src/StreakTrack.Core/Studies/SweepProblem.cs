using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Studies;

/// <summary>The residuals of a sweep's envelope on a set of points, with what is known of its parameters beforehand.</summary>
/// <remarks>
/// Points come first, then a row for each parameter that has an expectation. Those keep a parameter in its place on which the points say
/// nothing, such as the time of a step between two equal frequencies; where the points say something they outweigh them by far.
/// </remarks>
internal sealed class SweepProblem
{
    /// <summary>Frequency and times are differences, so a step of this part of a parameter is far below its standard uncertainty.</summary>
    private static readonly LeastSquaresOptions Effort = new()
    {
        MaxIterations = 60, MaxAttempts = 1, DampedTolerance = 1e-10, MaxPolishSteps = 30, MaxHalvings = 8, StepTolerance = 1e-5,
    };

    private readonly (int Index, double Value, double Sigma)[] _expected;
    private readonly int[] _firsts;
    private readonly int _held;
    private readonly double _heldValue;

    /// <param name="envelope">The model.</param>
    /// <param name="points">The points.</param>
    /// <param name="firsts">Position of the first point of each step.</param>
    /// <param name="expected">Value and standard deviation that single parameters are expected to have.</param>
    /// <param name="held">Index of a parameter that is held; -1 for none.</param>
    /// <param name="heldValue">Its value.</param>
    public SweepProblem(
        SweepEnvelope envelope, FitPoints points, int[] firsts, (int Index, double Value, double Sigma)[] expected, int held = -1, double heldValue = 0)
    {
        Envelope = envelope;
        Points = points;
        _firsts = firsts;
        _expected = expected;
        _held = held;
        _heldValue = heldValue;
    }

    public SweepEnvelope Envelope { get; }

    public FitPoints Points { get; }

    public int RowCount => Points.Count + _expected.Length;

    public int FreeCount => Envelope.ParameterCount - (_held >= 0 ? 1 : 0);

    public SweepProblem WithPoints(FitPoints points) => new(Envelope, points, _firsts, _expected, _held, _heldValue);

    public SweepProblem Holding(int index, double value) => new(Envelope, Points, _firsts, _expected, index, value);

    public double[] Full(ReadOnlySpan<double> free)
    {
        double[] full = new double[Envelope.ParameterCount];
        for (int j = 0, k = 0; j < full.Length; j++)
            full[j] = j == _held ? _heldValue : free[k++];
        return full;
    }

    public SweepProblem Divided(int[] firsts) => new(Envelope, Points, firsts, _expected, _held, _heldValue);

    /// <summary>Whether the points are divided among the steps as the steps' times have them.</summary>
    public bool IsDividedBy(ReadOnlySpan<double> full, out int[] firsts)
    {
        firsts = Envelope.Divide(full, Points.Times);
        return firsts.AsSpan().SequenceEqual(_firsts);
    }

    public double[] Amplitudes(ReadOnlySpan<double> full)
    {
        double[] values = new double[Points.Count];
        Envelope.Evaluate(full, Points.Times, _firsts, values, [], 0, []);
        return values;
    }

    /// <summary>Measured minus fitted, in mm.</summary>
    public double[] ResidualsMm(ReadOnlySpan<double> full) => [.. Points.Amplitudes.Zip(Amplitudes(full), (a, b) => a - b)];

    public LeastSquaresResult Solve(ReadOnlySpan<double> fullStart, bool isNear, CancellationToken cancellationToken)
    {
        double[] start = [.. fullStart];
        if (_held >= 0)
            start = [.. start.Where((_, j) => j != _held)];
        return isNear ? NonlinearLeastSquares.MinimizeNearby(Residuals, RowCount, start, Effort, cancellationToken)
            : NonlinearLeastSquares.Minimize(Residuals, RowCount, start, Effort, cancellationToken);
    }

    /// <summary>Root of the rise of the sum of squares, in variances, against one parameter, all others refitted; NaN where that
    /// fails.</summary>
    public Func<double, double> ProfileOf(int index, double[] estimate, double minimum, double variance, CancellationToken cancellationToken)
    {
        double[] warm = estimate;
        return value =>
        {
            SweepProblem held = Holding(index, value);
            LeastSquaresResult result = held.Solve(warm, isNear: true, cancellationToken);
            if (!result.Converged)
                return double.NaN;
            warm = held.Full(result.Parameters);
            return Math.Sqrt(Math.Max(0, result.SumOfSquares - minimum) / variance);
        };
    }

    public bool Residuals(ReadOnlySpan<double> free, Span<double> residuals, Span<double> jacobian)
    {
        int n = Points.Count, rows = RowCount, count = Envelope.ParameterCount;
        double[] full = Full(free);
        double[] all = jacobian.IsEmpty ? [] : new double[rows * count];
        if (!Envelope.Evaluate(full, Points.Times, _firsts, residuals[..n], all, rows, []))
            return false;
        for (int i = 0; i < n; i++)
        {
            if (!double.IsFinite(residuals[i]))
                return false;
            double weight = 1 / Points.Sigmas[i];
            residuals[i] = (residuals[i] - Points.Amplitudes[i]) * weight;
            for (int j = 0; j < count && all.Length > 0; j++)
                all[(j * rows) + i] *= weight;
        }

        for (int r = 0; r < _expected.Length; r++)
        {
            (int index, double value, double sigma) = _expected[r];
            residuals[n + r] = (full[index] - value) / sigma;
            if (all.Length > 0)
                all[(index * rows) + n + r] = 1 / sigma;
        }

        for (int j = 0, k = 0; j < count && all.Length > 0; j++)
        {
            if (j != _held)
                all.AsSpan(j * rows, rows).CopyTo(jacobian.Slice(k++ * rows, rows));
        }

        return true;
    }
}
