using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Accuracy;

/// <summary>One simulated clip of the grid.</summary>
/// <param name="Group">What is varied.</param>
/// <param name="Name">Its value here.</param>
/// <param name="Scenario">The clip.</param>
internal sealed record AccuracyCase(string Group, string Name, ClipScenario Scenario);
