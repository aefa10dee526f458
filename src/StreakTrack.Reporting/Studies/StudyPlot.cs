using StreakTrack.Core;
using StreakTrack.Core.Studies;

namespace StreakTrack.Reporting.Studies;

/// <summary>What the figure of a study shows: points, the curve through them, and what is left over.</summary>
public sealed record StudyPlot
{
    /// <summary>Stem of the file names: lower-case letters and hyphens.</summary>
    public required string Name { get; init; }

    /// <summary>Short title.</summary>
    public required string Title { get; init; }

    /// <summary>The text under the figure.</summary>
    public required string Caption { get; init; }

    /// <summary>Title of the horizontal axis, "coil current / A".</summary>
    public required string XTitle { get; init; }

    /// <summary>Title of the vertical axis, "amplitude / mm".</summary>
    public required string YTitle { get; init; }

    /// <summary>The points.</summary>
    public required IReadOnlyList<LinePoint> Points { get; init; }

    /// <summary>The curve with the standard uncertainty of the curve itself; null when none was fitted.</summary>
    public Func<double, UncertainValue>? Curve { get; init; }

    /// <summary>A rival curve; null for none.</summary>
    public Func<double, double>? OtherCurve { get; init; }

    /// <summary>What the legend calls the curve.</summary>
    public string CurveName { get; init; } = "fit";

    /// <summary>What the legend calls the rival curve.</summary>
    public string OtherCurveName { get; init; } = "";

    /// <summary>Places where the curve needs more points than elsewhere, such as the flanks of a narrow peak.</summary>
    public IReadOnlyList<double> DenseAt { get; init; } = [];

    /// <summary>Whether zero belongs to the vertical axis. Default true.</summary>
    public bool FromZero { get; init; } = true;
}
