namespace StreakTrack.Core.Findings;

/// <summary>How much a finding matters to the numbers beside it.</summary>
public enum FindingSeverity
{
    /// <summary>Worth knowing; the numbers stand.</summary>
    Info,

    /// <summary>The numbers may be off by more than their stated uncertainty.</summary>
    Warning,

    /// <summary>A number could not be had, or must not be used.</summary>
    Error,
}
