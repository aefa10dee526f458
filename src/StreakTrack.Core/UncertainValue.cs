namespace StreakTrack.Core;

/// <summary>A value and its standard uncertainty (one sigma), both in the unit that the containing name states.</summary>
/// <param name="Value">The estimate.</param>
/// <param name="StandardUncertainty">Its standard uncertainty; NaN where it is not known.</param>
public readonly record struct UncertainValue(double Value, double StandardUncertainty);
