namespace StreakTrack.Core.Fitting;

/// <summary>What is done about points far off the curve. They are flagged in any case.</summary>
public enum FitLoss
{
    /// <summary>Plain least squares; robust when points far off the curve are found, and a finding says so.</summary>
    Auto,

    /// <summary>Plain least squares.</summary>
    LeastSquares,

    /// <summary>Huber's loss: beyond three robust standard deviations a residual counts linearly, not squared.</summary>
    Robust,
}
