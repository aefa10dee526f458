using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.References;

/// <summary>A stated decay time beside that of a reference.</summary>
/// <param name="TauS">The reference's decay time, in s, and half the half-width of its tolerance as standard uncertainty.</param>
/// <param name="NormalisedError">E_n of the stated decay time; null when it has no uncertainty.</param>
/// <param name="Remark">Why the criterion is not met; null when it is.</param>
public sealed record ReferenceComparison(QuantityRecord TauS, double? NormalisedError, Finding? Remark);
