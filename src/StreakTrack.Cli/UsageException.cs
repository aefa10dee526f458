namespace StreakTrack.Cli;

/// <summary>The options are each well-formed but do not make sense together; exit code 2.</summary>
internal sealed class UsageException(string message) : Exception(message);
