namespace StreakTrack.Core.Uncertainty;

/// <summary>The distribution that stands for what is known of an input; used when distributions are propagated (JCGM 101:2008,
/// 6.4).</summary>
public enum InputDistribution
{
    /// <summary>Normal; with finite degrees of freedom the scaled and shifted t distribution (JCGM 101:2008, 6.4.9).</summary>
    Normal,

    /// <summary>Rectangular, half width sqrt(3) times the standard uncertainty: only limits are known.</summary>
    Rectangular,

    /// <summary>Symmetric triangular, half width sqrt(6) times the standard uncertainty: limits, and values near the middle
    /// likelier.</summary>
    Triangular,
}
