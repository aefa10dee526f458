namespace StreakTrack.Core.Studies;

/// <summary>What the drive's phase does where its frequency is stepped.</summary>
public enum DrivePhase
{
    /// <summary>Found from the series: it runs on unless jumps follow the points decidedly better.</summary>
    Auto,

    /// <summary>It runs on, as that of a tunable generator does.</summary>
    Continuous,

    /// <summary>It may jump at every step, as that of a generator that is started anew does; the jumps are fitted.</summary>
    Jumping,
}
