using StreakTrack.Core;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Reporting.Studies;

/// <summary>A result of a study.</summary>
/// <param name="Label">What it is; symbols of quantities may stand in it as single letters.</param>
/// <param name="Unit">Unit symbol; empty for a pure number.</param>
/// <param name="Value">The value with its standard uncertainty.</param>
/// <param name="Interval95">Its 95 % interval; null when none was computed.</param>
public sealed record StudyQuantity(string Label, string Unit, UncertainValue Value, CoverageInterval? Interval95 = null);
