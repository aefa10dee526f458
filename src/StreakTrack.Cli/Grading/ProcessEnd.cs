namespace StreakTrack.Cli.Grading;

/// <summary>How a child process ended.</summary>
internal enum ProcessEnd
{
    /// <summary>By itself.</summary>
    Exited,

    /// <summary>It took too long.</summary>
    TimeLimit,

    /// <summary>It took too much memory.</summary>
    MemoryLimit,
}
