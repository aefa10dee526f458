namespace StreakTrack.Core.Fitting;

/// <summary>How much each point counts.</summary>
public enum PointWeighting
{
    /// <summary>
    /// By 1/(u^2 + s^2): u is the point's own standard uncertainty, s a scatter common to all points that is found from the residuals,
    /// and 0 when the own uncertainties explain them. All alike when uncertainties are missing.
    /// </summary>
    /// <remarks>
    /// The common scatter after Mandel and Paule, Anal. Chem. 42 (1970) 1194 (from memory): the s at which reduced chi-square is 1.
    /// </remarks>
    Auto,

    /// <summary>All points alike.</summary>
    Equal,

    /// <summary>By 1/u^2, with the uncertainties as they are given.</summary>
    Given,
}
