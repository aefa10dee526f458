namespace StreakTrack.Core.Fitting;

/// <summary>What is done about points far off the curve. They are flagged in any case.</summary>
public enum FitLoss
{
    /// <summary>Plain least squares; robust when points far off the curve are found, and a finding says so.</summary>
    Auto,

    /// <summary>Plain least squares.</summary>
    LeastSquares,

    /// <summary>
    /// Beyond k = 3 robust standard deviations s a residual r counts with the weight (k s/r)^2: its loss grows with the logarithm only,
    /// its pull on the curve falls off, and to the sum of squares it adds no more than one of size k s.
    /// </summary>
    Robust,
}
