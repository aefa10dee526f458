namespace StreakTrack.Reporting.Studies;

/// <summary>A table of a study's report; cells are texts ready to be shown.</summary>
/// <param name="Caption">What it shows.</param>
/// <param name="Columns">The header cells.</param>
/// <param name="Rows">The rows, each with a cell for every column.</param>
public sealed record StudyTable(string Caption, IReadOnlyList<string> Columns, IReadOnlyList<IReadOnlyList<string>> Rows)
{
    /// <summary>How many columns from the left hold words and not numbers. Default 0.</summary>
    public int TextColumns { get; init; }
}
