namespace StreakTrack.Core.Uncertainty;

/// <summary>How a standard uncertainty was evaluated (JCGM 100:2008, 4.2 and 4.3).</summary>
public enum EvaluationType
{
    /// <summary>By statistics of repeated observations: a fit's standard error, the scatter of repeated settings.</summary>
    A,

    /// <summary>By other means: a data sheet, a tolerance, a resolution, experience.</summary>
    B,
}
