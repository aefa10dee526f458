using StreakTrack.Core.Findings;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Fitting;

/// <summary>A fit of an envelope model to a series, with everything that was decided on the way.</summary>
public sealed record EnvelopeFit
{
    /// <summary>The model; null when nothing could be fitted, as <see cref="Findings"/> then say.</summary>
    public required EnvelopeModel? Model { get; init; }

    /// <summary>Name of the model; <c>none</c> when nothing could be fitted.</summary>
    public string ModelName => Model?.Name ?? "none";

    /// <summary>The model's parameters in its own order, t0 last; empty when nothing could be fitted.</summary>
    public IReadOnlyList<FitParameter> Parameters { get; init; } = [];

    /// <summary>
    /// Covariance of the free parameters, in the order of <see cref="FreeNames"/>, with correlated residuals taken into account.
    /// </summary>
    public double[,] Covariance { get; init; } = new double[0, 0];

    /// <summary>Names of the free parameters, in the order of <see cref="Covariance"/>.</summary>
    public IReadOnlyList<string> FreeNames { get; init; } = [];

    /// <summary>Every point of the data handed in, in its order.</summary>
    public IReadOnlyList<FittedPoint> Points { get; init; } = [];

    /// <summary>Number of points that went into the fit.</summary>
    public int PointCount { get; init; }

    /// <summary>Points minus free parameters.</summary>
    public int DegreesOfFreedom { get; init; }

    /// <summary>
    /// Degrees of freedom that count for intervals: <see cref="DegreesOfFreedom"/>, or fewer when neighbouring residuals resemble each
    /// other.
    /// </summary>
    public double EffectiveDegreesOfFreedom { get; init; }

    /// <summary>
    /// Sum of squared residuals over the given squared uncertainties, divided by the degrees of freedom; NaN without uncertainties.
    /// </summary>
    public double ReducedChiSquare { get; init; } = double.NaN;

    /// <summary>
    /// Scatter common to all points beside their own uncertainties, in mm; 0 when there is none, NaN when they all counted alike.
    /// </summary>
    public double CommonScatterMm { get; init; } = double.NaN;

    /// <summary>The factor that makes a 95 % interval of a standard uncertainty.</summary>
    internal double Quantile95 =>
        CoverageFactor.TwoSided(0.95, CovarianceScaled ? Math.Max(1, EffectiveDegreesOfFreedom) : double.PositiveInfinity);

    /// <summary>Whether the covariance was scaled by the scatter of the residuals.</summary>
    public bool CovarianceScaled { get; init; }

    /// <summary>Root mean square of the residuals of the points used, in mm.</summary>
    public double ResidualRmsMm { get; init; } = double.NaN;

    /// <summary>Tests of the residuals, each divided by its standard deviation; null when there are too few.</summary>
    public ResidualAnalysis? Residuals { get; init; }

    /// <summary>
    /// Correlation of residuals one frame spacing apart that the uncertainties allow for; 0 when they are taken as independent.
    /// </summary>
    public double NoiseCorrelation { get; init; }

    /// <summary>Whether the robust loss was used.</summary>
    public bool RobustLoss { get; init; }

    /// <summary>The models tried, the best first.</summary>
    public IReadOnlyList<RivalModel> Rivals { get; init; } = [];

    /// <summary>One plain sentence on why this model.</summary>
    public required string Statement { get; init; }

    /// <summary>Why the iteration ended.</summary>
    public required LeastSquaresStop Stop { get; init; }

    /// <summary>Whether it ended at a minimum; if not, no number must be used.</summary>
    public bool Converged => Model is not null && Stop == LeastSquaresStop.Converged;

    /// <summary>First time of the points used, in s.</summary>
    public double WindowStartSeconds { get; init; } = double.NaN;

    /// <summary>Last time of the points used, in s.</summary>
    public double WindowEndSeconds { get; init; } = double.NaN;

    /// <summary>Whether the switch lies within the points used, with a steady part before it.</summary>
    public bool SteadyPartSeen { get; init; }

    /// <summary>The change point at which the switch was held; null when its time was given or fitted.</summary>
    public ChangePoint? FoundSwitch { get; init; }

    /// <summary>
    /// The central 95 % range in which <see cref="ReducedChiSquare"/> lies when the points' own uncertainties are of the right size; NaN
    /// without them.
    /// </summary>
    public (double Low, double High) ReducedChiSquareRange95 { get; init; } = (double.NaN, double.NaN);

    /// <summary>Remarks on the fit.</summary>
    public IReadOnlyList<Finding> Findings { get; init; } = [];

    /// <summary>The models tried, as they were fitted for the comparison.</summary>
    internal IReadOnlyList<EnvelopeCandidate> Candidates { get; init; } = [];

    /// <summary>The problem that was solved, for studies that solve it again.</summary>
    internal EnvelopeProblem? Problem { get; init; }

    /// <summary>A parameter by name.</summary>
    /// <param name="name">Name with unit, one of <see cref="EnvelopeParameters"/>.</param>
    /// <returns>The parameter, or null when the model has none of that name.</returns>
    public FitParameter? Parameter(string name) => Parameters.FirstOrDefault(parameter => parameter.Name == name);

    /// <summary>The fitted curve.</summary>
    /// <param name="timeSeconds">Time of the series, in s.</param>
    /// <returns>The amplitude in mm; NaN when nothing could be fitted.</returns>
    public double Curve(double timeSeconds)
    {
        if (Model is null || Parameters.Count == 0)
            return double.NaN;
        Span<double> values = stackalloc double[Parameters.Count];
        for (int j = 0; j < values.Length; j++)
            values[j] = Parameters[j].Value;
        double s = timeSeconds - values[^1];
        return Model.Value(SteadyPartSeen ? Math.Max(0, s) : s, values[..^1], [], out _);
    }

    /// <summary>Standard uncertainty of the fitted curve, propagated to first order from <see cref="Covariance"/>.</summary>
    /// <param name="timeSeconds">Time of the series, in s.</param>
    /// <returns>The uncertainty in mm, of the curve and not of a single frame; NaN when nothing could be fitted.</returns>
    public double CurveUncertaintyMm(double timeSeconds)
    {
        if (Model is null || Parameters.Count == 0 || FreeNames.Count == 0)
            return double.NaN;
        int own = Parameters.Count - 1;
        double[] values = [.. Parameters.Take(own).Select(p => p.Value)];
        double[] gradient = new double[own + 1];
        double s = timeSeconds - Parameters[own].Value;
        bool steady = SteadyPartSeen && s < 0;
        Model.Value(steady ? 0 : s, values, gradient.AsSpan(0, own), out double slope);
        gradient[own] = steady ? 0 : -slope;

        double[] free = [.. FreeNames.Select(name => gradient[Parameters.ToList().FindIndex(p => p.Name == name)])];
        double variance = 0;
        for (int i = 0; i < free.Length; i++)
        {
            for (int j = 0; j < free.Length; j++)
                variance += free[i] * Covariance[i, j] * free[j];
        }

        return Math.Sqrt(Math.Max(0, variance));
    }
}
