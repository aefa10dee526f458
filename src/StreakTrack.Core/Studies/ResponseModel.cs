namespace StreakTrack.Core.Studies;

/// <summary>The shape of a resonance curve.</summary>
public enum ResponseModel
{
    /// <summary>Steady amplitude of the driven damped oscillator: A0/sqrt((1 - (f/f0)²)² + (f/(f0 Q))²), at any Q.</summary>
    Exact,

    /// <summary>Its limit for high Q near the peak: A/sqrt(1 + ((f - f0)/h)²), where h is half the width of the power curve.</summary>
    Lorentzian,

    /// <summary>Power or squared amplitude near the peak: P/(1 + ((f - f0)/h)²). A dip has a negative height.</summary>
    PowerLorentzian,
}
