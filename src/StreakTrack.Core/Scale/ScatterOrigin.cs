namespace StreakTrack.Core.Scale;

/// <summary>Where the scatter of the marks that enters the uncertainties comes from.</summary>
public enum ScatterOrigin
{
    /// <summary>From the residuals alone: five or more degrees of freedom.</summary>
    Estimated,

    /// <summary>From the residuals and the assumed value together: one to four degrees of freedom.</summary>
    EstimatedWithAssumed,

    /// <summary>The assumed value alone: the map passes through all marks.</summary>
    Assumed,

    /// <summary>The marks' own stated uncertainties, enlarged where the residuals are larger than they allow.</summary>
    Stated,
}
