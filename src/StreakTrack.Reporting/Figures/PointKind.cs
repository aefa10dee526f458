namespace StreakTrack.Reporting.Figures;

/// <summary>How a point is drawn.</summary>
internal enum PointKind
{
    /// <summary>Filled circle.</summary>
    Dot,

    /// <summary>Open circle.</summary>
    Circle,

    /// <summary>Open square.</summary>
    Square,

    /// <summary>Filled diamond.</summary>
    Diamond,

    /// <summary>Open triangle, point up.</summary>
    TriangleUp,

    /// <summary>Open triangle, point down.</summary>
    TriangleDown,
}
