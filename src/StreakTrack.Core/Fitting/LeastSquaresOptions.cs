namespace StreakTrack.Core.Fitting;

/// <summary>Settings of <see cref="NonlinearLeastSquares"/>.</summary>
public sealed record LeastSquaresOptions
{
    /// <summary>Most iterations of the damped stage of one attempt, at least 1. Default 1000.</summary>
    public int MaxIterations { get; init; } = 1000;

    /// <summary>
    /// The last undamped step, relative to each parameter's size or to its standard uncertainty (whichever is larger), must be at most this for
    /// the point to count as a minimum. Default 1e-8.
    /// </summary>
    public double StepTolerance { get; init; } = 1e-8;

    /// <summary>
    /// Smallest ratio of the singular values of the column-scaled Jacobian at which parameters still count as told apart. Default 1e-12.
    /// </summary>
    public double RankTolerance { get; init; } = 1e-12;
}
