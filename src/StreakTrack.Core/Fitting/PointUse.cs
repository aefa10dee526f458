namespace StreakTrack.Core.Fitting;

/// <summary>What became of a point in a fit.</summary>
public enum PointUse
{
    /// <summary>It went into the fit.</summary>
    Used,

    /// <summary>It went into the fit, but lies far off the curve.</summary>
    Outlier,

    /// <summary>Left out: its exposure may lie on both sides of the switch.</summary>
    Transition,

    /// <summary>Left out: it lies outside the window.</summary>
    OutsideWindow,

    /// <summary>Left out: it has no usable amplitude, as its flags say.</summary>
    Unusable,
}
