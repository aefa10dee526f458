namespace StreakTrack.Core.Fitting;

/// <summary>What is done about residuals that resemble their neighbours.</summary>
public enum CorrelationTreatment
{
    /// <summary>
    /// When the likelihood says at the 5 % level that neighbours resemble each other, the uncertainties allow for first-order noise.
    /// </summary>
    Auto,

    /// <summary>Residuals are taken as independent.</summary>
    Independent,

    /// <summary>The uncertainties allow for first-order noise whatever the likelihood says.</summary>
    FirstOrder,
}
