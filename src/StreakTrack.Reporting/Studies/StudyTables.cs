using StreakTrack.Core.Studies;

namespace StreakTrack.Reporting.Studies;

/// <summary>Tables that several studies share.</summary>
internal static class StudyTables
{
    /// <summary>Fitted parameters with their profile intervals.</summary>
    public static StudyTable Parameters(string caption, IReadOnlyList<StudyParameter> parameters) => new(
        caption,
        ["Parameter", "Name in files", "Value", "95 % interval"],
        [
            .. parameters.Select(p => new[]
            {
                p.Meaning, p.Name, Pages.Numbers.PlusMinus(p.Value.Value, p.Value.StandardUncertainty),
                Pages.Numbers.Interval([p.Profile95.Low, p.Profile95.High]),
            }),
        ])
    {
        TextColumns = 2,
    };

    /// <summary>Columns of numbers; all numbers of a column have the same count of decimals.</summary>
    /// <param name="caption">What the table shows.</param>
    /// <param name="columns">Header, numbers, and how many significant digits the largest number of the column is worth.</param>
    public static StudyTable Numbers(string caption, params (string Header, IReadOnlyList<double> Values, int Digits)[] columns)
    {
        IReadOnlyList<string>[] cells = [.. columns.Select(c => Pages.Numbers.Column(c.Values, c.Digits))];
        return new StudyTable(
            caption,
            [.. columns.Select(c => c.Header)],
            [.. Enumerable.Range(0, cells[0].Count).Select(row => cells.Select(c => c[row]).ToArray())]);
    }
}
