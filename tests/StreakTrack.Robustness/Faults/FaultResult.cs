namespace StreakTrack.Robustness.Faults;

/// <summary>What the command made of a fault.</summary>
/// <param name="Fault">What was done to it.</param>
/// <param name="Outcome">Exit code and what it left.</param>
/// <param name="Message">What it said, paths shortened.</param>
/// <param name="Problems">What should not have been; empty when all is well.</param>
internal sealed record FaultResult(string Fault, string Outcome, string Message, IReadOnlyList<string> Problems);
