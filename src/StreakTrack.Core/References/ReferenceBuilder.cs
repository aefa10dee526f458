using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Records;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.References;

/// <summary>Makes the reference of an instrument.</summary>
/// <remarks>
/// The scatter of a run's frames is independent of that of other runs and goes into the one-way random-effects model
/// (<see cref="RandomEffects"/>). The rest of its uncertainty is made by what runs share, such as the shape of the spot and the camera's clock;
/// it is taken to be the same in all of them, so that no number of runs makes it smaller (JCGM 100:2008, 5.2.2, with correlation 1). A further run is
/// foretold with the uncertainty of the mean and the scatter between runs together; ISO 13528:2022 wants both in the assigned value's
/// uncertainty when single runs are held against it.
/// </remarks>
public static class ReferenceBuilder
{
    private const double Coverage = 0.95;
    private const double SuspectProbability = 0.01;

    /// <summary>With fewer runs the scatter between them is a guess.</summary>
    private const int EnoughRuns = 3;

    /// <summary>Models whose tau alone describes the damping.</summary>
    private static readonly string[] LinearModels = ["decay", "decay-floor", "decay-level", "rise", "transient"];

    /// <summary>The run that a record states.</summary>
    /// <param name="record">The record.</param>
    /// <param name="setting">The setting at which it was filmed; null when nothing is set.</param>
    /// <param name="subject">What to call it in messages.</param>
    /// <param name="frequencyHz">Frequency for a record that states none; null for none.</param>
    /// <exception cref="UnusableInputException">It states no decay time with an uncertainty.</exception>
    public static ReferenceRun RunOf(AnalysisRecord record, double? setting, string subject, UncertainValue? frequencyHz = null)
    {
        ArgumentNullException.ThrowIfNull(record);
        if (record.Result.Fit is not FitRecord fit || !fit.Parameters.TryGetValue("tau_s", out ParameterRecord? tau)
            || tau.StandardUncertainty is not double u || !(tau.Value > 0) || !(u > 0) || !fit.Converged)
        {
            throw new UnusableInputException(subject, "the record states no decay time with an uncertainty", "Leave this run out, or analyse it again.");
        }

        if (!LinearModels.Contains(fit.Model))
        {
            throw new UnusableInputException(subject, $"the model {fit.Model} has damping beyond a decay time", "A reference is made of runs that one decay time describes.");
        }

        double scatter = Math.Min(u, tau.ScatterUncertainty is double s && s > 0 ? s : u);
        return new ReferenceRun
        {
            File = record.Clip?.File ?? record.SeriesFile?.File ?? subject,
            Sha256 = record.Clip?.Sha256 ?? record.SeriesFile?.Sha256 ?? "",
            Setting = setting,
            Model = fit.Model,
            TauS = tau.Value,
            ScatterUncertaintyS = scatter,
            CommonUncertaintyS = Math.Sqrt(Math.Max(0, (u * u) - (scatter * scatter))),
            FrequencyHz = record.Options.FrequencyHz ?? frequencyHz?.Value,
            FrequencyUncertaintyHz = record.Options.FrequencyHz is null ? frequencyHz?.StandardUncertainty ?? 0 : record.Options.FrequencyUncertaintyHz,
        };
    }

    /// <summary>A reference from runs.</summary>
    /// <param name="runs">One or more; all with a setting or none.</param>
    /// <param name="name">What the instrument is called.</param>
    /// <param name="settingName">Name of the setting with its unit; null when nothing is set.</param>
    /// <param name="program">What writes the file.</param>
    /// <exception cref="UnusableInputException">There is no run, one is there twice, or only some have a setting.</exception>
    public static InstrumentReference FromRuns(IReadOnlyList<ReferenceRun> runs, string name, string? settingName, ProgramRecord program)
    {
        ArgumentNullException.ThrowIfNull(runs);
        if (runs.Count == 0)
            throw new UnusableInputException("the reference", "there is no run", "Name one or more runs.");
        if (runs.Select(r => r.Setting is null).Distinct().Count() > 1)
            throw new UnusableInputException("the runs", "only some have a setting", "Give every run its setting, or none.");
        if (runs.GroupBy(r => r.Sha256).FirstOrDefault(g => g.Key.Length > 0 && g.Count() > 1) is { } twice)
            throw new UnusableInputException(twice.First().File, "the same file is given twice", "Name every run once; the same run again tells nothing about the scatter.");

        var findings = new List<Finding>();
        ReferenceSetting[] settings = [.. runs.GroupBy(r => r.Setting).OrderBy(g => g.Key).Select(g => Together([.. g], findings))];
        return new InstrumentReference
        {
            ReferenceVersion = InstrumentReference.CurrentVersion, Program = program, Name = name, Origin = "runs",
            SettingName = runs[0].Setting is null ? null : settingName ?? "setting",
            Settings = settings, Runs = [.. runs], Findings = ResultRecords.Ordered(findings),
        };
    }

    /// <summary>A reference from numbers.</summary>
    /// <param name="parameters">The numbers.</param>
    /// <param name="name">What the instrument is called.</param>
    /// <param name="program">What writes the file.</param>
    /// <exception cref="ArgumentOutOfRangeException">A number is outside its range.</exception>
    public static InstrumentReference FromParameters(ReferenceParameters parameters, string name, ProgramRecord program)
    {
        ArgumentNullException.ThrowIfNull(parameters);
        var findings = new List<Finding>();
        double between = parameters.BetweenRunDeviationSeconds ?? 0;
        if (!(between >= 0))
            throw new ArgumentOutOfRangeException(nameof(parameters), between, "A standard deviation cannot be negative.");
        if (parameters.BetweenRunDeviationSeconds is null)
            findings.Add(FindingKinds.BetweenRunsUnknown.With("No scatter between runs was given."));
        return new InstrumentReference
        {
            ReferenceVersion = InstrumentReference.CurrentVersion, Program = program, Name = name, Origin = "parameters", Findings = findings,
            Settings = [Setting(null, 0, parameters.TauSeconds, parameters.BetweenRunDeviationSeconds, null, double.PositiveInfinity, 0, parameters.FrequencyHz)],
        };
    }

    private static ReferenceSetting Together(ReferenceRun[] runs, List<Finding> findings)
    {
        string where = runs[0].Setting is double at ? string.Create(CultureInfo.InvariantCulture, $" at setting {at:0.######}") : "";
        UncertainValue[] taus = [.. runs.Select(r => new UncertainValue(r.TauS, r.ScatterUncertaintyS))];
        RandomEffects effects = RandomEffects.Of(taus);
        double common = Math.Sqrt(runs.Average(r => r.CommonUncertaintyS * r.CommonUncertaintyS));
        if (runs.Length < EnoughRuns)
        {
            findings.Add(FindingKinds.BetweenRunsUnknown.With(runs.Length == 1
                ? $"There is a single run{where}, so the scatter between runs is not known."
                : $"There are only two runs{where}, so the scatter between runs is hardly known and the tolerance wide."));
        }

        if (effects.HomogeneityProbability < SuspectProbability)
        {
            findings.Add(FindingKinds.RunsDiffer.With(FindingSeverity.Info,
                $"Runs{where} differ by {Notation.Number(effects.BetweenDeviation, 2)} s (one standard deviation) more than the scatter of their frames explains; the tolerance holds it."));
        }

        if (StandingOut(runs, taus) is int odd)
        {
            findings.Add(FindingKinds.RunStandsOut.With(string.Create(CultureInfo.InvariantCulture,
                $"{runs[odd].File}{where} has a decay time of {runs[odd].TauS:0.####} s, which the other runs do not explain.")));
        }

        return Setting(runs[0].Setting, runs.Length, effects.Mean, double.IsNaN(effects.BetweenDeviation) ? null : effects.BetweenDeviation,
            double.IsNaN(effects.HomogeneityProbability) ? null : effects.HomogeneityProbability, effects.DegreesOfFreedom, common, FrequencyOf(runs));
    }

    // Each run against the others, at a risk shared out over all of them so that a long list is not always found to hold one.
    private static int? StandingOut(ReferenceRun[] runs, UncertainValue[] taus)
    {
        if (runs.Length < EnoughRuns + 1)
            return null;
        double limit = CoverageFactor.TwoSided(1 - (SuspectProbability / runs.Length), runs.Length - 2);
        (int Run, double Distance) worst = Enumerable.Range(0, runs.Length).Select(i =>
        {
            RandomEffects others = RandomEffects.Of([.. taus.Where((_, k) => k != i)]);
            double u2 = Square(others.BetweenDeviation) + Square(others.Mean.StandardUncertainty) + Square(taus[i].StandardUncertainty);
            return (i, Math.Abs(taus[i].Value - others.Mean.Value) / Math.Sqrt(u2));
        }).MaxBy(x => x.Item2);
        return worst.Distance > limit ? worst.Run : null;
    }

    private static UncertainValue? FrequencyOf(ReferenceRun[] runs)
    {
        UncertainValue[] known = [.. runs.Where(r => r.FrequencyHz is not null).Select(r => new UncertainValue(r.FrequencyHz!.Value, r.FrequencyUncertaintyHz))];
        if (known.Length == 0)
            return null;
        // Stated from outside, most often once for all runs: what is stated does not get better by being repeated.
        double mean = known.Average(f => f.Value), stated = known.Max(f => f.StandardUncertainty);
        double scatter = known.Length > 1 ? Math.Sqrt(known.Sum(f => Square(f.Value - mean)) / (known.Length - 1) / known.Length) : 0;
        return new UncertainValue(mean, Math.Sqrt(Square(stated) + Square(scatter)));
    }

    private static ReferenceSetting Setting(
        double? setting, int runs, UncertainValue mean, double? between, double? homogeneity, double degreesOfFreedom, double common, UncertainValue? frequency)
    {
        var tau = new UncertainValue(mean.Value, Math.Sqrt(Square(mean.StandardUncertainty) + Square(common)));
        double scatter2 = Square(mean.StandardUncertainty) + Square(between ?? 0);
        double u = Math.Sqrt(scatter2 + Square(common));
        double freedom = degreesOfFreedom is > 0 and < double.PositiveInfinity && scatter2 > 0
            ? degreesOfFreedom * Square(Square(u)) / Square(scatter2) : double.PositiveInfinity;
        double k = CoverageFactor.TwoSided(Coverage, freedom);
        OscillatorQuantities quantities = OscillatorQuantities.From(tau, frequency);
        return new ReferenceSetting
        {
            Setting = setting, Runs = runs, TauS = new QuantityRecord(tau.Value, tau.StandardUncertainty),
            BetweenRunDeviationS = between, HomogeneityProbability = homogeneity,
            ToleranceStandardUncertaintyS = u, DegreesOfFreedom = double.IsFinite(freedom) ? freedom : null, CoverageFactor = k,
            // A decay time is positive, whatever two runs that differ may say.
            ToleranceTauS = [Math.Max(0, tau.Value - (k * u)), tau.Value + (k * u)],
            FrequencyHz = frequency is { } f ? new QuantityRecord(f.Value, f.StandardUncertainty) : null,
            Quantities = quantities.All.ToDictionary(q => q.Key, q => new QuantityRecord(q.Value.Value, double.IsFinite(q.Value.StandardUncertainty) ? q.Value.StandardUncertainty : null)),
        };
    }

    private static double Square(double x) => x * x;
}
