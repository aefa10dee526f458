using StreakTrack.Core.Oscillator;

namespace StreakTrack.Core.Uncertainty;

/// <summary>
/// What goes into the uncertainty budget of an amplitude at the mirror. Parts that were not evaluated are null and left out of the
/// budget.
/// </summary>
public sealed record MirrorAmplitudeBudgetInputs
{
    /// <summary>Amplitude on the ruler, in mm.</summary>
    public required double AmplitudeMm { get; init; }

    /// <summary>Its standard uncertainty by the scatter of one frame or of the fit, in mm.</summary>
    public required double AmplitudeUncertaintyMm { get; init; }

    /// <summary>Degrees of freedom of <see cref="AmplitudeUncertaintyMm"/>. Default infinite.</summary>
    public double AmplitudeDegreesOfFreedom { get; init; } = double.PositiveInfinity;

    /// <summary>Standard uncertainty by an offset that all lengths share, in mm.</summary>
    public double? LengthOffsetUncertaintyMm { get; init; }

    /// <summary>Standard uncertainty by the time of the switch, in mm.</summary>
    public double? SwitchTimeUncertaintyMm { get; init; }

    /// <summary>Relative standard uncertainty of a length by the pixel scale, from the marks' scatter.</summary>
    public double? ScaleRelativeUncertainty { get; init; }

    /// <summary>Degrees of freedom of the scale: marks minus parameters of its map. Default infinite.</summary>
    public double ScaleDegreesOfFreedom { get; init; } = double.PositiveInfinity;

    /// <summary>Largest error that the ruler's class allows for the length of the whole streak, in mm.</summary>
    public double? RulerMaximumErrorMm { get; init; }

    /// <summary>The optical lever, with the uncertainties of distance, incidence and tilt.</summary>
    public required OpticalLever Lever { get; init; }
}
