namespace StreakTrack.Core.Fitting;

/// <summary>One parameter of a fit, in the unit that its name carries.</summary>
public sealed record FitParameter
{
    /// <summary>Name with its unit.</summary>
    public required string Name { get; init; }

    /// <summary>What it is, in a few words.</summary>
    public required string Meaning { get; init; }

    /// <summary>The estimate.</summary>
    public required double Value { get; init; }

    /// <summary>
    /// Standard uncertainty (one sigma) from the scatter of the points, with correlated residuals taken into account; NaN when the
    /// parameter was held. The uncertainty of the ruler's scale and of the clock is not in it. An analysis of a series adds the parts below.
    /// </summary>
    public double StandardUncertainty { get; init; } = double.NaN;

    /// <summary>The same, as if residuals were independent.</summary>
    public double IndependentStandardUncertainty { get; init; } = double.NaN;

    /// <summary>Lower end of the 95 % interval; negative infinity when it is open, NaN when the parameter was held.</summary>
    public double Lower95 { get; init; } = double.NaN;

    /// <summary>Upper end of the 95 % interval; infinity when it is open, NaN when the parameter was held.</summary>
    public double Upper95 { get; init; } = double.NaN;

    /// <summary>
    /// Part of <see cref="StandardUncertainty"/> from an offset that all amplitudes may share, in the parameter's unit; 0 in a bare fit.
    /// </summary>
    public double OffsetUncertainty { get; init; }

    /// <summary>Part of it from the uncertainty of a switch time that was known or found and then held; 0 in a bare fit.</summary>
    public double SwitchTimeUncertainty { get; init; }

    /// <summary>
    /// Part of it from models that the data do not exclude: with it the symmetric 95 % interval reaches as far as theirs. 0 in a bare fit, and
    /// where the model was named.
    /// </summary>
    public double ModelUncertainty { get; init; }

    /// <summary>Whether the value was given and not fitted.</summary>
    public bool IsHeld { get; init; }

    /// <summary>Whether the fit would leave the physical range, so that the value was put on the bound.</summary>
    public bool IsAtBound { get; init; }
}
