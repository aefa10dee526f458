using System.Text.Json.Serialization;

namespace StreakTrack.Core.Records;

/// <summary>A fit of an envelope model, as it stands in the record.</summary>
public sealed record FitRecord
{
    /// <summary>Name of the model.</summary>
    public required string Model { get; init; }

    /// <summary>One plain sentence on why this model: "a single exponential is enough …".</summary>
    public required string Statement { get; init; }

    /// <summary>Parameters by name; each name carries its unit.</summary>
    public required IReadOnlyDictionary<string, ParameterRecord> Parameters { get; init; }

    /// <summary>Standard uncertainty of an offset that all amplitudes may have in common, in mm; it is contained in the parameters'
    /// uncertainties. 0 when none was stated.</summary>
    public double LengthOffsetUncertaintyMm { get; init; }

    /// <summary>Why the iteration ended.</summary>
    public required string Stop { get; init; }

    /// <summary>Whether it ended at a minimum.</summary>
    public required bool Converged { get; init; }

    /// <summary>Points that went into the fit.</summary>
    public required int Points { get; init; }

    /// <summary>Points minus free parameters.</summary>
    public required int DegreesOfFreedom { get; init; }

    /// <summary>Weighted sum of squared residuals over the degrees of freedom; null without stated uncertainties.</summary>
    public double? ReducedChiSquare { get; init; }

    /// <summary>Root mean square of the residuals, in mm.</summary>
    public required double ResidualRmsMm { get; init; }

    /// <summary>First and last time of the points used, in s.</summary>
    public required IReadOnlyList<double> WindowS { get; init; }

    /// <summary>The models tried, the best first.</summary>
    public IReadOnlyList<ModelRecord> Models { get; init; } = [];
}

/// <summary>One parameter of a fit, in the unit that its name carries.</summary>
/// <param name="Value">The estimate.</param>
/// <param name="StandardUncertainty">One standard uncertainty, everything included; null where it could not be had.</param>
/// <param name="Interval95">Lower and upper end of the 95 % interval; an open end is null.</param>
/// <param name="ScatterUncertainty">The part of the standard uncertainty that comes from the scatter of the points.</param>
public sealed record ParameterRecord(
    double Value, double? StandardUncertainty, [property: JsonPropertyName("interval95")] IReadOnlyList<double?> Interval95,
    double? ScatterUncertainty = null);

/// <summary>One row of the model comparison.</summary>
/// <param name="Model">Name of the model.</param>
/// <param name="Parameters">Number of free parameters.</param>
/// <param name="Aicc">Corrected Akaike criterion; smaller is better.</param>
/// <param name="DeltaAicc">Difference from the best model.</param>
/// <param name="TauS">Decay time by this model, in s.</param>
/// <param name="TauUncertaintyS">Its standard uncertainty, in s.</param>
public sealed record ModelRecord(string Model, int Parameters, double Aicc, double DeltaAicc, double? TauS, double? TauUncertaintyS);
