namespace StreakTrack.Cli.Grading;

/// <summary>What a child process may use.</summary>
/// <param name="Time">Wall time.</param>
/// <param name="MemoryBytes">Memory of the process and its children together, in bytes.</param>
internal sealed record ProcessLimits(TimeSpan Time, long MemoryBytes);
