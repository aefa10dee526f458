using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Submissions;

/// <summary>Holds a record against a re-run with its own marks and settings.</summary>
public static class RecordComparison
{
    /// <summary>Half a unit in the last digit that is printed, where uncertainties have two digits: at its smallest 1/198 of the uncertainty.</summary>
    private const double PrintedShare = 0.005;

    /// <summary>Differences that a message lists; most quantities follow from one another and differ together.</summary>
    private const int MostShown = 4;

    /// <summary>Numbers without an uncertainty are equal when they agree to this share of themselves.</summary>
    private const double RelativeTolerance = 1e-6;

    /// <summary>Compares.</summary>
    /// <param name="stated">The record handed in.</param>
    /// <param name="rerun">The record of the re-run.</param>
    /// <returns>The verdict with its reasons.</returns>
    public static (Verdict Verdict, IReadOnlyList<Finding> Reasons) Compare(AnalysisRecord stated, AnalysisRecord rerun)
    {
        var reasons = new List<Finding>();
        bool sameClip = stated.Clip?.Sha256 == rerun.Clip?.Sha256;
        if (!sameClip)
            reasons.Add(FindingKinds.ClipDiffers.With("The SHA-256 of the clip handed in is not the one in the record."));
        bool sameSeries = stated.Result.Series.Sha256 == rerun.Result.Series.Sha256;
        if (!sameSeries)
            reasons.Add(FindingKinds.SeriesDiffers.With("The record's series and that of the re-run are not identical."));

        FitRecord? statedFit = stated.Result.Fit, fit = rerun.Result.Fit;
        SweepRecord? statedSweep = stated.Result.Sweep, sweep = rerun.Result.Sweep;
        if (statedFit is null && fit is null && statedSweep is null && sweep is null)
        {
            reasons.Add(FindingKinds.NotJudged.With(sameSeries ? FindingSeverity.Info : FindingSeverity.Error, sameSeries
                ? "The record states no fit, and the re-run finds none either; the series is the same."
                : "The record states no fit, and the re-run finds none either, but from another series."));
            return (sameSeries ? Verdict.Reproduced : Verdict.CannotBeJudged, reasons);
        }

        if (statedFit is null != fit is null || statedSweep is null != sweep is null)
        {
            reasons.Add(FindingKinds.NumbersDiffer.With(statedFit is null && statedSweep is null
                ? "The record states no fit, but the clip with the record's settings gives one."
                : fit is null && sweep is null
                    ? "The record states a fit, but the clip with the record's settings gives none."
                    : "The record states a fit of another kind than the clip with the record's settings gives."));
            return (Verdict.Differs, reasons);
        }

        var differing = new List<(string Text, bool Within)>();
        string statedModel = statedFit?.Model ?? statedSweep!.Response, model = fit?.Model ?? sweep!.Response;
        if (statedModel != model)
            differing.Add(($"model: stated {statedModel}, re-run {model}", false));
        Dictionary<string, (double Value, double? Uncertainty)> statedNumbers = NumbersOf(statedFit, statedSweep), numbers = NumbersOf(fit, sweep);
        foreach ((string name, (double value, double? u)) in statedNumbers)
            Add(name, value, u, numbers.TryGetValue(name, out (double, double?) again) ? again : null);
        foreach ((string name, QuantityRecord value) in stated.Result.Oscillator)
            Add(name, value.Value, value.StandardUncertainty, rerun.Result.Oscillator.TryGetValue(name, out QuantityRecord? q) ? (q.Value, q.StandardUncertainty) : null);
        foreach (string name in numbers.Keys.Except(statedNumbers.Keys).Concat(rerun.Result.Oscillator.Keys.Except(stated.Result.Oscillator.Keys)))
            differing.Add(($"{name}: missing in the record", false));
        if (differing.Count == 0)
            return (sameClip ? Verdict.Reproduced : Verdict.ReproducedWithinUncertainty, reasons);

        // The same file, program and reader give the same digits, so that a difference of any size was not made by the program.
        bool sameTools = sameClip && stated.Program.Version == rerun.Program.Version && stated.Program.Reader == rerun.Program.Reader;
        bool within = !sameTools && differing.All(d => d.Within);
        reasons.Add(FindingKinds.NumbersDiffer.With(within ? FindingSeverity.Info : FindingSeverity.Error,
            string.Join("; ", differing.Take(MostShown).Select(d => d.Text)) + (differing.Count > MostShown ? $"; and {differing.Count - MostShown} more" : "") + (within ? ". All lie within their uncertainties." : ".")));
        return (within ? Verdict.ReproducedWithinUncertainty : Verdict.Differs, reasons);

        void Add(string name, double value, double? u, (double Value, double? Uncertainty)? again)
        {
            if (again is not { } found)
            {
                differing.Add(($"{name}: stated, but not given by the re-run", false));
                return;
            }

            double tolerance = Math.Max(PrintedShare * (found.Uncertainty ?? 0), RelativeTolerance * Math.Abs(found.Value));
            bool sameUncertainty = u is null || found.Uncertainty is null ? u == found.Uncertainty : Math.Abs(u.Value - found.Uncertainty.Value) <= PrintedShare * found.Uncertainty.Value;
            if (Math.Abs(value - found.Value) <= tolerance && sameUncertainty)
                return;

            // The re-run's own expanded uncertainty alone decides: a record could state any.
            differing.Add((string.Create(CultureInfo.InvariantCulture,
                $"{name}: stated {Notation.Concise(new UncertainValue(value, u ?? double.NaN))}, re-run {Notation.Concise(new UncertainValue(found.Value, found.Uncertainty ?? double.NaN))}"),
                found.Uncertainty is double own && Math.Abs(value - found.Value) <= NormalisedError.CoverageFactor * own));
        }
    }

    /// <summary>The numbers of a fit or of a sweep by name, each with its standard uncertainty.</summary>
    private static Dictionary<string, (double Value, double? Uncertainty)> NumbersOf(FitRecord? fit, SweepRecord? sweep)
    {
        if (fit is not null)
            return fit.Parameters.ToDictionary(p => p.Key, p => (p.Value.Value, p.Value.StandardUncertainty));
        Dictionary<string, (double Value, double? Uncertainty)> numbers = sweep!.Parameters.ToDictionary(p => p.Key, p => (p.Value.Value, p.Value.StandardUncertainty));
        foreach ((PlateauRecord plateau, int index) in sweep.Plateaus.Select((p, k) => (p, k)))
        {
            if (plateau.AmplitudeMm is double amplitude)
                numbers.Add($"plateaus[{index}].amplitude_mm", (amplitude, plateau.AmplitudeUncertaintyMm));
        }

        return numbers;
    }
}
