namespace StreakTrack.Core.Fitting;

/// <summary>What is made differently in a row of the robustness table.</summary>
public enum RobustnessGroup
{
    /// <summary>Nothing: the analysis itself.</summary>
    Analysis,

    /// <summary>The beginning of the window.</summary>
    WindowStart,

    /// <summary>The end of the window.</summary>
    WindowEnd,

    /// <summary>The estimate of the amplitude.</summary>
    Estimate,

    /// <summary>The weights of the points.</summary>
    Weighting,

    /// <summary>The loss.</summary>
    Loss,

    /// <summary>The model.</summary>
    Model,
}
