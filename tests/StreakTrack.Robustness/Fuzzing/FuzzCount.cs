namespace StreakTrack.Robustness.Fuzzing;

/// <summary>What became of the mutants of one kind of input.</summary>
/// <param name="What">What was tried.</param>
/// <param name="Inputs">Mutants tried.</param>
/// <param name="Taken">Those that gave a result.</param>
/// <param name="Refused">Those that were refused with a message.</param>
/// <param name="Hangs">Those that took longer than the limit.</param>
/// <param name="Faults">Everything else: what happened, and the seed that repeats it. Empty when all is well.</param>
internal sealed record FuzzCount(string What, int Inputs, int Taken, int Refused, int Hangs, IReadOnlyList<string> Faults);
