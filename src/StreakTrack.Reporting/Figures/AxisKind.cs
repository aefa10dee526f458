namespace StreakTrack.Reporting.Figures;

/// <summary>How an axis is divided.</summary>
internal enum AxisKind
{
    /// <summary>Evenly.</summary>
    Linear,

    /// <summary>By powers of ten.</summary>
    Log,
}
