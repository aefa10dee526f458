namespace StreakTrack.Core.Uncertainty;

/// <summary>What goes into the uncertainty budget of a decay time. Parts that were not evaluated are null and left out of the
/// budget.</summary>
/// <remarks>
/// The scale's factor and the mirror's distance are absent on purpose: a constant factor on the amplitude does not move tau.
/// </remarks>
public sealed record TauBudgetInputs
{
    /// <summary>Decay time from the fit, in s, positive.</summary>
    public required double TauSeconds { get; init; }

    /// <summary>Its standard uncertainty from the scatter of the points, corrected for correlated residuals, in s.</summary>
    public required double FitUncertaintySeconds { get; init; }

    /// <summary>Degrees of freedom of the fit: points minus parameters; smaller when the residuals are correlated.</summary>
    public required double FitDegreesOfFreedom { get; init; }

    /// <summary>Standard uncertainty of tau from an offset that all lengths may have in common, in s.</summary>
    public double? LengthOffsetUncertaintySeconds { get; init; }

    /// <summary>
    /// Half the range of tau over the rows of the robustness table (window, threshold, weighting) beyond what scatter explains, in s.
    /// </summary>
    public double? RobustnessHalfRangeSeconds { get; init; }

    /// <summary>Standard uncertainty of tau from that of a switch time that was known or found, in s.</summary>
    public double? SwitchTimeUncertaintySeconds { get; init; }

    /// <summary>Standard uncertainty of tau from models that the data do not exclude, in s.</summary>
    public double? ModelUncertaintySeconds { get; init; }

    /// <summary>
    /// Largest relative error of the frame times. Default 1e-4: the quartz of a camera is usually within 0.01 % (common practice, no
    /// source).
    /// </summary>
    public double? TimeBaseRelativeLimit { get; init; } = 1e-4;
}
