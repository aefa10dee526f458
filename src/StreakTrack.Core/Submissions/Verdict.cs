namespace StreakTrack.Core.Submissions;

/// <summary>Whether the numbers of a submission come out again.</summary>
public enum Verdict
{
    /// <summary>The re-run gives the stated numbers to the digits printed.</summary>
    Reproduced,

    /// <summary>Another file or another version of the program gives numbers that agree with the stated ones within their uncertainties.</summary>
    ReproducedWithinUncertainty,

    /// <summary>The re-run gives other numbers.</summary>
    Differs,

    /// <summary>Something needed for a verdict is missing or unusable.</summary>
    CannotBeJudged,
}
