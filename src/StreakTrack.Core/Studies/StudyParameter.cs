using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>One fitted parameter of a study.</summary>
/// <param name="Name">Name in snake case with its unit.</param>
/// <param name="Meaning">What it is, in a few words.</param>
/// <param name="Value">Estimate and standard uncertainty.</param>
/// <param name="Wald95">The 95 % interval from the standard uncertainty: symmetric.</param>
/// <param name="Profile95">
/// The 95 % profile-likelihood interval: all values with which the other parameters can still follow the points. An open end is infinite.
/// </param>
public sealed record StudyParameter(string Name, string Meaning, UncertainValue Value, CoverageInterval Wald95, CoverageInterval Profile95);
