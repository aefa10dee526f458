using StreakTrack.Core.Findings;

namespace StreakTrack.Reporting.Studies;

/// <summary>All that the report of a study over several measurements is made of.</summary>
public sealed record StudyReport
{
    /// <summary>Title of the page.</summary>
    public required string Title { get; init; }

    /// <summary>Where the points come from.</summary>
    public required StudySource Source { get; init; }

    /// <summary>One sentence on what was found.</summary>
    public required string Statement { get; init; }

    /// <summary>The results, the main one first.</summary>
    public required IReadOnlyList<StudyQuantity> Quantities { get; init; }

    /// <summary>The figures, in order.</summary>
    public required IReadOnlyList<StudyPlot> Plots { get; init; }

    /// <summary>The tables, in order; the first shows the points.</summary>
    public required IReadOnlyList<StudyTable> Tables { get; init; }

    /// <summary>How it was done, one paragraph each.</summary>
    public required IReadOnlyList<string> Method { get; init; }

    /// <summary>Doubts.</summary>
    public required IReadOnlyList<Finding> Findings { get; init; }
}
