namespace StreakTrack.Core.Fitting;

/// <summary>Why a least-squares iteration ended.</summary>
public enum LeastSquaresStop
{
    /// <summary>At a minimum: the last undamped Gauss-Newton step is below the step tolerance.</summary>
    Converged,

    /// <summary>The iterations allowed were used up before that.</summary>
    TooManyIterations,

    /// <summary>The parameters cannot be told apart at the point reached: the Jacobian has lost rank.</summary>
    Singular,

    /// <summary>No step makes the sum of squares smaller, and yet the point is no minimum.</summary>
    NoProgress,

    /// <summary>The model is not defined, or not finite, at the starting point.</summary>
    InvalidStart,
}
