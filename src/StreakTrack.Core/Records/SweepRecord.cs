using System.Text.Json.Serialization;

namespace StreakTrack.Core.Records;

/// <summary>One step of a drive that is stepped through resonance.</summary>
/// <param name="FrequencyHz">Drive frequency, in Hz.</param>
/// <param name="StartS">When it was set, in s of the series.</param>
public sealed record DriveStepRecord(double FrequencyHz, double StartS);

/// <summary>A sweep stepped through resonance within the series, fitted as one motion.</summary>
public sealed record SweepRecord
{
    // The compiled reader hands null to the setters of what a file lacks, a file of an older version perhaps: they put the default there.

    /// <summary>What was found, in a plain sentence.</summary>
    public required string Statement { get; init; }

    /// <summary>Shape of the steady response: exact or lorentzian.</summary>
    public required string Response { get; init; }

    /// <summary>Whether jumps of the drive's phase at the steps were fitted.</summary>
    public bool PhaseJumps { get; init; }

    /// <summary>Results by name, each with its unit: f0_hz (undamped natural frequency), damped_frequency_hz, q, tau_s,
    /// resonance_amplitude_mm, linewidth_power_hz.</summary>
    public required IReadOnlyDictionary<string, QuantityWithInterval> Parameters { get; init; }

    /// <summary>The same with the other shape of the response, for comparison; empty when that did not converge.</summary>
    public IReadOnlyDictionary<string, QuantityWithInterval> OtherResponse { get; init => field = value ?? new Dictionary<string, QuantityWithInterval>(); } = new Dictionary<string, QuantityWithInterval>();

    /// <summary>Akaike's criterion of the other shape less that of the one reported: positive when the latter follows the series better; null
    /// without the other.</summary>
    public double? OtherDeltaAicc { get; init; }

    /// <summary>Points that were used.</summary>
    public required int Points { get; init; }

    /// <summary>Points minus parameters.</summary>
    public required int DegreesOfFreedom { get; init; }

    /// <summary>Root mean square of the residuals, in mm.</summary>
    public required double ResidualRmsMm { get; init; }

    /// <summary>Correlation of neighbouring residuals that the uncertainties allow for.</summary>
    public double NoiseCorrelation { get; init; }

    /// <summary>What the oscillator settles at in each step.</summary>
    public IReadOnlyList<PlateauRecord> Plateaus { get; init => field = value ?? []; } = [];
}

/// <summary>A value with its standard uncertainty and its 95 % interval, in the unit that its key names.</summary>
/// <param name="Value">The estimate.</param>
/// <param name="StandardUncertainty">One standard uncertainty; null where it is not known.</param>
/// <param name="Interval95">Lower and upper end of the 95 % interval; an open end is null.</param>
public sealed record QuantityWithInterval(
    double Value, double? StandardUncertainty, [property: JsonPropertyName("interval95")] IReadOnlyList<double?> Interval95);

/// <summary>One step of a sweep.</summary>
/// <param name="FrequencyHz">Drive frequency, in Hz.</param>
/// <param name="StartS">When it began, as the series shows it, in s.</param>
/// <param name="StartUncertaintyS">Its standard uncertainty, in s; null for the first step.</param>
/// <param name="EndS">When it ended, in s.</param>
/// <param name="Points">Usable points within it.</param>
/// <param name="AmplitudeMm">Steady amplitude, with what was left of the transient taken off, in mm; null without points.</param>
/// <param name="AmplitudeUncertaintyMm">Its standard uncertainty, in mm.</param>
/// <param name="MeanMm">Plain mean over the last third of the step, in mm; null without points there.</param>
/// <param name="TransientMm">What is left of the transient at the end of the step, in mm.</param>
/// <param name="Settled">Whether that is small beside the steady amplitude.</param>
public sealed record PlateauRecord(
    double FrequencyHz, double StartS, double? StartUncertaintyS, double EndS, int Points, double? AmplitudeMm, double? AmplitudeUncertaintyMm,
    double? MeanMm, double TransientMm, bool Settled);
