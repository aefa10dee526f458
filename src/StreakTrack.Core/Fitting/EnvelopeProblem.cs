namespace StreakTrack.Core.Fitting;

/// <summary>The residuals of one model on one set of points, with the steady part before the switch in the same fit.</summary>
/// <remarks>
/// Which points lie before the switch is fixed by <see cref="Before"/> and not by comparing times with t0: so the sum of squares stays
/// smooth in
/// t0, and the points whose exposure may straddle the switch are simply not handed in.
/// Full parameter vector: the model's parameters, then t0.
/// </remarks>
internal sealed class EnvelopeProblem
{
    /// <summary>Starts come from the data and are near; a start that needs more steps than this leads nowhere.</summary>
    private static readonly LeastSquaresOptions StartOptions = new()
    {
        MaxIterations = 40, MaxPolishSteps = 25, MaxAttempts = 1, DampedTolerance = 1e-8, MaxHalvings = 8,
    };

    private readonly double[] _held;
    private readonly int[] _free;

    public EnvelopeProblem(EnvelopeModel model, FitPoints points, int before, double[] held, double correlation = 0)
    {
        Model = model;
        Points = points;
        Before = before;
        Correlation = correlation;
        _held = held;
        _free = [.. Enumerable.Range(0, held.Length).Where(j => double.IsNaN(held[j]))];
    }

    public EnvelopeModel Model { get; }

    public FitPoints Points { get; }

    /// <summary>Number of points before the switch.</summary>
    public int Before { get; }

    /// <summary>Correlation of residuals one typical spacing apart; 0 for independent ones.</summary>
    public double Correlation { get; }

    /// <summary>Value of each held parameter; NaN where it is free.</summary>
    public IReadOnlyList<double> Held => _held;

    public IReadOnlyList<int> Free => _free;

    public EnvelopeProblem WithCorrelation(double correlation) => new(Model, Points, Before, _held, correlation);

    /// <summary>Another model with parameters that are held and free in the same places.</summary>
    public EnvelopeProblem WithModel(EnvelopeModel model) => new(model, Points, Before, _held, Correlation);

    public EnvelopeProblem WithPoints(FitPoints points) => new(Model, points, Before, _held, Correlation);

    public EnvelopeProblem Holding(int index, double value)
    {
        double[] held = [.. _held];
        held[index] = value;
        return new EnvelopeProblem(Model, Points, Before, held, Correlation);
    }

    public double[] Full(ReadOnlySpan<double> free)
    {
        double[] full = [.. _held];
        for (int j = 0; j < _free.Length; j++)
            full[_free[j]] = free[j];
        return full;
    }

    public double[] FreePart(ReadOnlySpan<double> full)
    {
        double[] free = new double[_free.Length];
        for (int j = 0; j < free.Length; j++)
            free[j] = full[_free[j]];
        return free;
    }

    public double Curve(ReadOnlySpan<double> full, int i)
    {
        int p = full.Length - 1;
        return Model.Value(i < Before ? 0 : Points.Times[i] - full[p], full[..p], [], out _);
    }

    /// <summary>Measured minus fitted, divided by sigma, without any whitening.</summary>
    public double[] StandardResiduals(ReadOnlySpan<double> full)
    {
        double[] residuals = new double[Points.Count];
        for (int i = 0; i < residuals.Length; i++)
            residuals[i] = (Points.Amplitudes[i] - Curve(full, i)) / Points.Sigmas[i];
        return residuals;
    }

    public LeastSquaresResult Solve(ReadOnlySpan<double> fullStart, CancellationToken cancellationToken = default) =>
        NonlinearLeastSquares.MinimizeNearby(Residuals, Points.Count, FreePart(fullStart), StartOptions, cancellationToken);

    /// <summary>Root of the rise of the sum of squares, in variances, against one parameter, all others refitted; NaN where that
    /// fails.</summary>
    public Func<double, double> ProfileOf(int index, double[] estimate, double minimum, double variance)
    {
        double[] warm = estimate;
        return value =>
        {
            EnvelopeProblem held = Holding(index, value);
            if (held.Free.Count == 0)
            {
                double[] r = new double[Points.Count];
                return held.Residuals([], r, []) ? Math.Sqrt(Math.Max(0, r.Sum(x => x * x) - minimum) / variance) : double.NaN;
            }

            LeastSquaresResult result = held.Solve(warm);
            if (!result.Converged)
                return double.NaN;
            warm = held.Full(result.Parameters);
            return Math.Sqrt(Math.Max(0, result.SumOfSquares - minimum) / variance);
        };
    }

    public bool Residuals(ReadOnlySpan<double> free, Span<double> residuals, Span<double> jacobian)
    {
        int p = _held.Length - 1;
        int n = Points.Count;
        Span<double> full = stackalloc double[p + 1];
        _held.CopyTo(full);
        for (int j = 0; j < _free.Length; j++)
            full[_free[j]] = free[j];
        Span<double> gradient = stackalloc double[p + 1];
        Span<double> modelGradient = jacobian.IsEmpty ? [] : gradient[..p];
        ReadOnlySpan<double> modelParameters = full[..p];
        double[] times = Points.Times;
        for (int i = 0; i < n; i++)
        {
            bool after = i >= Before;
            double value = Model.Value(after ? times[i] - full[p] : 0, modelParameters, modelGradient, out double slope);
            if (!double.IsFinite(value))
                return false;
            double weight = 1 / Points.Sigmas[i];
            residuals[i] = (value - Points.Amplitudes[i]) * weight;
            if (!jacobian.IsEmpty)
            {
                gradient[p] = after ? -slope : 0;
                for (int j = 0; j < _free.Length; j++)
                    jacobian[j * n + i] = gradient[_free[j]] * weight;
            }
        }

        if (Correlation != 0)
        {
            Points.Whiten(residuals, Correlation);
            for (int j = 0; j < (jacobian.IsEmpty ? 0 : _free.Length); j++)
                Points.Whiten(jacobian.Slice(j * n, n), Correlation);
        }

        return true;
    }
}
