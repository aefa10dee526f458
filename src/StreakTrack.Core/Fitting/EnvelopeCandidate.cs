namespace StreakTrack.Core.Fitting;

/// <summary>One model fitted to the points, with a steady part before the switch or without.</summary>
internal sealed record EnvelopeCandidate(EnvelopeProblem Problem, LeastSquaresResult Result, double[] Full, bool IsAtBound)
{
    /// <summary>An end of a rival's interval is found to this part of its standard uncertainty: each digit more would cost two fits.</summary>
    private const double RivalTolerance = 1e-3;

    /// <summary>Residuals smaller than this part of the others' speak for another minimum; a smaller difference is chance.</summary>
    private const double RobustGain = 0.7;

    /// <summary>Parameters spent on finding the switch by looking over all places, beside t0 itself.</summary>
    private int SearchCost => Problem.Before > 0 && double.IsNaN(Problem.Held[^1]) ? 1 : 0;

    /// <summary>The same fit with residuals taken as independent, when this one allows for their correlation.</summary>
    public EnvelopeCandidate? Plain { get; init; }

    public EnvelopeModel Model => Problem.Model;

    public bool Converged => Result.Converged;

    /// <summary>Akaike's criterion, corrected for few points: a parameter costs 2 and a little.</summary>
    public double Aicc => Costed(2);

    /// <summary>The same with half the cost: what a parameter gains on average where it is not needed.</summary>
    public double CostedDeviance => Costed(1);

    private double Costed(double costOfParameter)
    {
        int n = Problem.Points.Count;
        int k = Problem.Free.Count + 1 + SearchCost;
        return n - k - 1 > 0 && Result.SumOfSquares > 0
            ? n * Math.Log(Result.SumOfSquares / n) + Problem.Points.LogVariances() + Problem.Points.LogDeterminant(Problem.Correlation)
                + costOfParameter * n * k / (n - k - 1)
            : double.PositiveInfinity;
    }

    /// <summary>Interval of the decay time of a rival.</summary>
    /// <param name="quantile">Its reach, in standard uncertainties.</param>
    /// <param name="scaled">Whether the size of the scatter is taken from the residuals.</param>
    /// <param name="profiled">Whether it is taken from the profile of the likelihood; otherwise from the standard uncertainty.</param>
    /// <returns>The ends in s; infinite where open.</returns>
    public (double Lower, double Upper) TauInterval(double quantile, bool scaled, bool profiled)
    {
        int place = Problem.Free.ToList().IndexOf(0);
        double variance = scaled ? Result.SumOfSquares / Math.Max(1, Problem.Points.Count - Problem.Free.Count) : 1;
        double tau = Full[0], u = Math.Sqrt(Result.InverseGram![place, place] * variance);
        return profiled
            ? ProfileInterval.Find(
                () => Problem.ProfileOf(0, Full, Result.SumOfSquares, variance), tau, u, quantile, Problem.Model.Parameters[0].LowerBound,
                RivalTolerance)
            : (tau - (quantile * u), tau + (quantile * u));
    }

    /// <summary>Fits a model from all its starts.</summary>
    /// <param name="model">The model.</param>
    /// <param name="points">The points.</param>
    /// <param name="scan">The scan of the same points.</param>
    /// <param name="before">Number of points before the switch.</param>
    /// <param name="switchTime">Known time of the switch, in s; NaN to find it.</param>
    /// <param name="cancellationToken">Ends the work.</param>
    /// <returns>The best minimum within the physical range; null when no start led anywhere.</returns>
    public static EnvelopeCandidate? Fit(
        EnvelopeModel model, FitPoints points, ExponentialScan scan, int before, double switchTime, CancellationToken cancellationToken)
    {
        double held = double.IsNaN(switchTime) && before == 0 && !model.ShapeFixesSwitchTime ? points.Times[0] : switchTime;
        double[] mask = new double[model.Parameters.Count + 1];
        Array.Fill(mask, double.NaN);
        mask[^1] = held;
        var problem = new EnvelopeProblem(model, points, before, mask);
        if (points.Count <= problem.Free.Count)
            return null;

        EnvelopeCandidate? best = null;
        IReadOnlyList<double[]> starts = EnvelopeStarts.Of(model, points, scan, before, held, cancellationToken);
        foreach (double[] start in starts)
        {
            EnvelopeCandidate candidate = WithinBounds(problem, problem.Solve(start, cancellationToken), cancellationToken);
            if (best is null || (candidate.Converged && !best.Converged)
                || (candidate.Converged == best.Converged && candidate.Result.SumOfSquares < best.Result.SumOfSquares))
            {
                best = candidate;
            }

            if (best.Converged && best.IsDownToScatter())
                return best;
        }

        return best is { Converged: true, Model: TransientModel } ? best.OrRobustlyBetter(starts, cancellationToken) : best;
    }

    /// <summary>
    /// The minimum whose neighbourhood leaves the smallest residuals by their median, this one's or that of another start or of one with the
    /// motion begun a beat earlier or later. A few streaks that were hidden pull the least squares of a beating curve into a minimum one
    /// beat off, from which no weighting leads back.
    /// </summary>
    private EnvelopeCandidate OrRobustlyBetter(IEnumerable<double[]> starts, CancellationToken cancellationToken)
    {
        (EnvelopeCandidate best, double bestScale) = (this, Refined(this, cancellationToken).Scale);
        double latest = Problem.Points.Times[Problem.Before];
        foreach (double[] start in starts.Append(Full).SelectMany(Shifted))
        {
            EnvelopeCandidate near = WithinBounds(Problem, Problem.Solve(start, cancellationToken), cancellationToken);
            if (!near.Converged)
                continue;
            (EnvelopeCandidate refined, double scale) = Refined(near, cancellationToken);
            if (!(scale < RobustGain * bestScale))
                continue;
            EnvelopeCandidate candidate = refined.Refit(Problem);
            if (candidate.Converged && !candidate.IsAtBound)
                (best, bestScale) = (candidate, scale);
        }

        return best;

        IEnumerable<double[]> Shifted(double[] start)
        {
            yield return start;
            int time = start.Length - 1;
            if (!double.IsNaN(Problem.Held[time]) || !Model.ShapeFixesSwitchTime || !(Math.Abs(start[TransientModel.DetuningIndex]) > 0))
                yield break;
            foreach (int beats in (int[])[-1, 1])
            {
                double[] shifted = [.. start];
                shifted[time] += beats / Math.Abs(start[TransientModel.DetuningIndex]);
                if (shifted[time] <= latest)
                    yield return shifted;
            }
        }

        static (EnvelopeCandidate Candidate, double Scale) Refined(EnvelopeCandidate candidate, CancellationToken cancellationToken)
        {
            EnvelopeCandidate refined = RobustLoss.Minimize(candidate, cancellationToken).Candidate;
            return (refined, RobustLoss.Scale(candidate.Problem.StandardResiduals(refined.Full)));
        }
    }

    /// <summary>
    /// Whether nothing but scatter from point to point is left, so that no other minimum can be deeper by more than chance.
    /// </summary>
    private bool IsDownToScatter()
    {
        double[] residuals = Problem.StandardResiduals(Full);
        return Math.Sqrt(residuals.Sum(r => r * r) / residuals.Length) < 1.3 * LocalScatter.Of(residuals);
    }

    /// <summary>The same candidate with other weights or another correlation, from where it stands.</summary>
    public EnvelopeCandidate Refit(EnvelopeProblem problem)
    {
        LeastSquaresResult result = problem.Solve(Full);
        return WithinBounds(problem, result, default) with { IsAtBound = IsAtBound };
    }

    /// <summary>A start from rest by the detuning itself, as it is reported, instead of its square.</summary>
    public EnvelopeCandidate ByDetuning() => Solved(TransientModel.FromRest, Math.Sqrt(Full[1])) with { Plain = Plain?.ByDetuning() };

    /// <summary>A start from rest by the square of the detuning.</summary>
    public EnvelopeCandidate BySquaredDetuning() => Solved(DetunedRiseModel.Instance, Full[1] * Full[1]);

    private EnvelopeCandidate Solved(EnvelopeModel model, double second)
    {
        EnvelopeProblem problem = Problem.WithModel(model);
        double[] full = [.. Full];
        full[1] = second;
        return WithinBounds(problem, problem.Solve(full), default);
    }

    private static EnvelopeCandidate WithinBounds(EnvelopeProblem problem, LeastSquaresResult result, CancellationToken cancellationToken)
    {
        double[] full = Mirrored(problem.Model, problem.Full(result.Parameters));
        IReadOnlyList<EnvelopeParameter> parameters = problem.Model.Parameters;
        for (int j = 0; j < parameters.Count; j++)
        {
            if (!double.IsNaN(problem.Held[j]) || !(full[j] < parameters[j].LowerBound))
                continue;

            // A model without its size or its decay time is none; the other parameters may vanish and are then held at their bound.
            if (parameters[j].Name is not (EnvelopeParameters.Drag or EnvelopeParameters.Friction or EnvelopeParameters.DetuningSquared))
                return new EnvelopeCandidate(problem, result with { Stop = LeastSquaresStop.Singular }, full, true);
            EnvelopeProblem bounded = problem.Holding(j, parameters[j].LowerBound);
            full[j] = parameters[j].LowerBound;
            LeastSquaresResult onBound = bounded.Solve(full, cancellationToken);
            return new EnvelopeCandidate(bounded, onBound, bounded.Full(onBound.Parameters), true);
        }

        return new EnvelopeCandidate(problem, result with { Parameters = problem.FreePart(full) }, full, false);
    }

    // The envelope does not change when the motion is mirrored or turned by half a turn: a detuning and a level with sign are made
    // positive.
    private static double[] Mirrored(EnvelopeModel model, double[] full)
    {
        if (model is not TransientModel)
            return full;
        double[] result = [.. full];
        bool general = model.Parameters.Count > 3;
        if (result[2] < 0)
        {
            result[2] = -result[2];
            if (general)
                (result[3], result[4]) = (-result[3], -result[4]);
        }

        if (result[1] < 0)
        {
            result[1] = -result[1];
            if (general)
                result[4] = -result[4];
        }

        return result;
    }
}
