using System.Globalization;
using System.Text.Json;
using StreakTrack.Core.Fitting;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Validation.EnvelopeFits;

/// <summary>A series with a reference fit made by scipy, and how our fit of it is set and named.</summary>
internal sealed record ReferenceFit
{
    /// <summary>File in <c>fixtures/fits</c>, without its ending.</summary>
    public required string Set { get; init; }

    /// <summary>Key of the fit in the JSON; empty when the file holds one fit only.</summary>
    public string Key { get; init; } = "";

    public required string Model { get; init; }

    /// <summary>Names in the reference, each with ours.</summary>
    public required IReadOnlyList<(string Reference, string Ours)> Names { get; init; }

    public PointWeighting Weighting { get; init; } = PointWeighting.Equal;

    public UncertaintyScaling Scaling { get; init; } = UncertaintyScaling.Scaled;

    public override string ToString() => Key.Length > 0 ? $"{Set}: {Key}" : Set;

    private static readonly (string, string)[] DecayNames = [("A", "amplitude0_mm"), ("tau", "tau_s")];
    private static readonly (string, string)[] FloorNames = [.. DecayNames, ("c", "floor_mm")];

    /// <summary>All reference fits.</summary>
    public static IReadOnlyList<ReferenceFit> All { get; } =
    [
        new() { Set = "decay_floor", Key = "with_floor", Model = "decay-floor", Names = FloorNames },
        new() { Set = "decay_floor", Key = "without_floor", Model = "decay", Names = DecayNames },
        new() { Set = "decay_nofloor", Key = "without_floor", Model = "decay", Names = DecayNames },
        new() { Set = "decay_nofloor", Key = "with_floor", Model = "decay-floor", Names = FloorNames },
        new() { Set = "decay_short", Model = "decay-floor", Names = FloorNames },
        new()
        {
            Set = "decay_weighted", Key = "absolute", Model = "decay-floor", Names = FloorNames, Weighting = PointWeighting.Given,
            Scaling = UncertaintyScaling.Absolute,
        },
        new() { Set = "decay_weighted", Key = "scaled", Model = "decay-floor", Names = FloorNames, Weighting = PointWeighting.Given },
        new() { Set = "decay_weighted", Key = "unweighted", Model = "decay-floor", Names = FloorNames },
        new() { Set = "decay_ar1", Key = "ordinary", Model = "decay-floor", Names = FloorNames },

        // The reference's c + A (1 - exp(-t/tau)) starts from the level c; its A is the difference of two of our parameters.
        new() { Set = "rise", Model = "decay-level", Names = [("tau", "tau_s"), ("c", "amplitude0_mm")] },
        new() { Set = "beat_rest", Model = "transient", Names = [("a", "amplitude1_mm"), ("tau", "tau_s"), ("df", "detuning_hz")] },
        new()
        {
            Set = "beat_general", Model = "transient",
            Names =
            [
                ("z_ss", "amplitude1_mm"), ("z0_re", "start_in_phase_mm"), ("z0_im", "start_quadrature_mm"), ("tau", "tau_s"),
                ("df", "detuning_hz"),
            ],
        },
    ];

    /// <summary>Our fit of the set, with t0 known to be 0.</summary>
    public EnvelopeFit Fit() => EnvelopeFitter.Fit(ReadData(Set), new EnvelopeFitOptions
    {
        Model = Model,
        CompareModels = false,
        SwitchTimeSeconds = 0,
        Weighting = Weighting,
        Scaling = Scaling,
        Loss = FitLoss.LeastSquares,
        Correlation = CorrelationTreatment.Independent,
    });

    /// <summary>How far our fit is from the reference.</summary>
    public ReferenceScore Compare(EnvelopeFit fit)
    {
        using JsonDocument document = JsonDocument.Parse(File.ReadAllText(Fixtures.PathOf("fits", Set + ".json")));
        JsonElement reference = Key.Length > 0 ? document.RootElement.GetProperty(Key) : document.RootElement;
        JsonElement estimates = reference.GetProperty("estimate");
        JsonElement errors = reference.GetProperty(Scaling == UncertaintyScaling.Absolute ? "se_absolute" : "se_scaled");
        bool hasProfile = reference.TryGetProperty("profile_95", out JsonElement profiles);
        double worstEstimate = 0, worstError = 0, worstEnd = hasProfile ? 0 : double.NaN;
        foreach ((string theirs, string ours) in Names)
        {
            FitParameter parameter = fit.Parameter(ours)!;
            double estimate = estimates.GetProperty(theirs).GetDouble(), error = errors.GetProperty(theirs).GetDouble();
            worstEstimate = Math.Max(worstEstimate, Math.Abs(parameter.Value / estimate - 1));
            worstError = Math.Max(worstError, Math.Abs(parameter.StandardUncertainty / error - 1));
            if (hasProfile)
            {
                JsonElement ends = profiles.GetProperty(theirs);
                worstEnd = Math.Max(worstEnd, Math.Abs(parameter.Lower95 - ends[0].GetDouble()) / error);
                worstEnd = Math.Max(worstEnd, Math.Abs(parameter.Upper95 - ends[1].GetDouble()) / error);
            }
        }

        return new ReferenceScore(worstEstimate, worstError, worstEnd);
    }

    /// <summary>A series of <c>fixtures/fits</c>.</summary>
    public static EnvelopeData ReadData(string set)
    {
        double[][] rows =
        [
            .. File.ReadLines(Fixtures.PathOf("fits", set + ".csv")).Where(line => line.Length > 0 && line[0] != '#').Skip(1)
                .Select(line => line.Split(',').Select(cell => double.Parse(cell, CultureInfo.InvariantCulture)).ToArray()),
        ];
        return EnvelopeData.FromNumbers(
            [.. rows.Select(row => row[0])], [.. rows.Select(row => row[1])], rows[0].Length > 2 ? [.. rows.Select(row => row[2])] : null);
    }
}

/// <summary>How far a fit is from its reference: the worst parameter of each kind.</summary>
/// <param name="Estimate">Relative difference of an estimate.</param>
/// <param name="StandardError">Relative difference of a standard error.</param>
/// <param name="IntervalEnd">Difference of an end of a 95 % profile interval, in standard errors; NaN when the reference has none.</param>
internal sealed record ReferenceScore(double Estimate, double StandardError, double IntervalEnd);
