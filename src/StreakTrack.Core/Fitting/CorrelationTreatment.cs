namespace StreakTrack.Core.Fitting;

/// <summary>What is done about residuals that resemble their neighbours.</summary>
public enum CorrelationTreatment
{
    /// <summary>When the likelihood says at the 5 % level that neighbours resemble each other, an AR(1) noise model is fitted along.</summary>
    Auto,

    /// <summary>Residuals are taken as independent.</summary>
    Independent,

    /// <summary>An AR(1) noise model is fitted along whatever the likelihood says.</summary>
    FirstOrder,
}
