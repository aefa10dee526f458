using StreakTrack.Core.Studies;
using StreakTrack.Reporting.Pages;

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
                p.Meaning, p.Name, Numbers.PlusMinus(p.Value.Value, p.Value.StandardUncertainty),
                Numbers.Interval([p.Profile95.Low, p.Profile95.High]),
            }),
        ]);
}
