namespace StreakTrack.Core.Fitting;

/// <summary>Settings of <see cref="NonlinearLeastSquares"/>.</summary>
public sealed record LeastSquaresOptions
{
    /// <summary>Most iterations of the damped stage of one attempt, at least 1. Default 1000.</summary>
    public int MaxIterations { get; init; } = 1000;

    /// <summary>Damped attempts from the start before giving up, each with a stronger first damping; 1 to 3. Default 3.</summary>
    public int MaxAttempts { get; init; } = 3;

    /// <summary>
    /// Gradient and step at which the damped stage hands over to undamped steps, relative, above 0. Default 1e-13, for problems whose
    /// parameters are nearly interchangeable; larger is quicker.
    /// </summary>
    public double DampedTolerance { get; init; } = 1e-13;

    /// <summary>Most undamped steps of one attempt, at least 1. Default 60.</summary>
    public int MaxPolishSteps { get; init; } = 60;

    /// <summary>How often an undamped step that makes the sum of squares larger is halved before giving up. Default 30.</summary>
    public int MaxHalvings { get; init; } = 30;

    /// <summary>
    /// The last undamped step, relative to each parameter's size or to its standard uncertainty (whichever is larger), must be at most
    /// this for the point to count as a minimum. Default 1e-8.
    /// </summary>
    public double StepTolerance { get; init; } = 1e-8;

    /// <summary>
    /// Smallest reciprocal condition number of the column-scaled Jacobian at which parameters still count as told apart. Default 1e-12.
    /// </summary>
    public double RankTolerance { get; init; } = 1e-12;
}
