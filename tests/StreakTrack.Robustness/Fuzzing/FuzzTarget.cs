namespace StreakTrack.Robustness.Fuzzing;

/// <summary>One door through which files come in.</summary>
/// <param name="What">What is tried: the kind of file and the reader or command.</param>
/// <param name="Original">A sound file.</param>
/// <param name="Mutate">Makes the mutant of a seed.</param>
/// <param name="Take">Takes a file: true for a result, false for a refusal with a message; throws on anything else.</param>
internal sealed record FuzzTarget(
    string What, byte[] Original, Func<byte[], int, byte[]> Mutate, Func<string, CancellationToken, Task<bool>> Take);
