namespace StreakTrack.Core.Fitting;

/// <summary>How the time of the switch is had when it is not known.</summary>
public enum SwitchTimeSource
{
    /// <summary>It is a parameter of the fit, when the points show it.</summary>
    Fitted,

    /// <summary>It is the change point of the series, and then held.</summary>
    ChangePoint,
}
