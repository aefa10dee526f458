namespace StreakTrack.Cli;

/// <summary>What the command tells the shell.</summary>
internal static class ExitCode
{
    /// <summary>The work was done.</summary>
    public const int Done = 0;

    /// <summary>The work was done, but a check failed.</summary>
    public const int CheckFailed = 1;

    /// <summary>The command line is wrong.</summary>
    public const int Usage = 2;

    /// <summary>The input cannot be used.</summary>
    public const int UnusableInput = 3;

    /// <summary>The machine lacks something: a library, disk space, a permission.</summary>
    public const int Machine = 4;

    /// <summary>The user interrupted the work (128 + SIGINT).</summary>
    public const int Interrupted = 130;
}
