namespace StreakTrack.Reporting.Figures;

/// <summary>What a mark of a figure stands for; the palette gives each role its colour.</summary>
internal enum FigureRole
{
    /// <summary>The background.</summary>
    Paper,

    /// <summary>Axes and text.</summary>
    Ink,

    /// <summary>Tick labels, reference lines.</summary>
    Muted,

    /// <summary>Grid lines.</summary>
    Faint,

    /// <summary>Measured points.</summary>
    Data,

    /// <summary>The fitted curve.</summary>
    Model,

    /// <summary>Where single frames are expected.</summary>
    Scatter,

    /// <summary>The uncertainty band of the curve itself.</summary>
    Band,

    /// <summary>Points that were left out of the fit.</summary>
    LeftOut,

    /// <summary>Points that carry a flag, or a second series.</summary>
    Second,

    /// <summary>Points far off the curve.</summary>
    Outlier,
}
