using System.Globalization;
using System.Runtime.ExceptionServices;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Analysis;

/// <summary>The stages from the series on: fit, then physical quantities. The same for a series from a clip and for one from a file.</summary>
/// <remarks>
/// The fit knows only how the points scatter. What all lengths of a clip have in common, an offset from a spot that is not quite of the assumed
/// shape, does not scatter: it looks like a floor under a decay. So it is treated here, in two ways. It enters the uncertainty of every
/// parameter by refitting with all amplitudes shifted. And it weakens the evidence against a single exponential: where the curve of a richer
/// model differs from it by d (root mean square), an offset of that size would explain the points as well, at a cost of (d/u)^2 in twice the
/// log likelihood with u the offset's standard uncertainty. No larger difference of the criterion is held against the single exponential.
/// Where the program chose the model, the interval and the uncertainty of tau reach over the models that the points do not exclude.
/// </remarks>
public static class SeriesAnalyzer
{
    /// <summary>The models with one cause of damping and one level, which more elaborate ones have to beat.</summary>
    private static readonly string[] PlainModels = ["decay", "rise"];

    /// <summary>A decay time or an uncertainty of it beyond this is a fit that found no decay, and products with it may not be finite.</summary>
    private const double LargestTauSeconds = 1e15;

    /// <summary>An uncertainty of more decay times than this says nothing about Q: a small share of it already leads to where there is no decay.</summary>
    private const double LargestShareForQ = 100;

    /// <summary>Analyses a series: the fit, what follows from it, and the studies of how far it can be trusted.</summary>
    /// <param name="series">The series.</param>
    /// <param name="options">Model, window, switch time, frequency, distance, and the studies wanted.</param>
    /// <param name="lengths">What is known of errors common to all amplitudes; null for nothing.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="UnusableInputException">A setting has a value that there is none of.</exception>
    public static SeriesAnalysis Analyze(
        AmplitudeSeries series, AnalysisOptions options, LengthAccuracy? lengths = null, CancellationToken cancellationToken = default)
    {
        SeriesAnalysis analysis = Fit(series, options, lengths, cancellationToken);
        if (analysis.Quantities is null)
            return analysis;

        EnvelopeFit fit = analysis.Fit;
        EnvelopeFitOptions fitOptions = FitOptionsOf(options);
        bool resampled = options.BootstrapReplicates is int replicates ? replicates > 0 : fit.NoiseCorrelation > 0;

        // Neither knows of the other, and both repeat the fit many times. The table compares with the scatter of the points: what the stated
        // uncertainty covers, the common offset included, is no alarm.
        double covered = 2 * TauOf(analysis)!.StandardUncertainty;
        RobustnessTable robustness = null!;
        BootstrapResult? bootstrap = null;
        try
        {
            Parallel.Invoke(new ParallelOptions { CancellationToken = cancellationToken },
                () => robustness = RobustnessStudy.Run(EnvelopeData.FromSeries(analysis.FittedSeries), fitOptions, fit, covered, cancellationToken),
                () => bootstrap = resampled ? BlockBootstrap.Run(fit, BootstrapOptionsOf(options), cancellationToken) : null);
        }
        catch (AggregateException e)
        {
            // A setting that either refuses is refused as it would be without the other.
            ExceptionDispatchInfo.Throw(e.InnerExceptions[0]);
        }

        return analysis with
        {
            Robustness = robustness,
            Bootstrap = bootstrap,
            MonteCarlo = options.MonteCarloTrials is int trials
                ? [.. ModelsOf(analysis, options, lengths ?? LengthAccuracy.Unstated).Select(model => MonteCarloPropagation.Propagate(
                    model, new MonteCarloOptions { Seed = options.Seed, Trials = trials == 0 ? null : trials }, cancellationToken))]
                : [],
            Findings = [.. analysis.Findings, .. robustness.Findings],
        };
    }

    /// <summary>The fit with its intervals, budgets and quantities alone, without the studies that repeat it many times.</summary>
    /// <inheritdoc cref="Analyze"/>
    public static SeriesAnalysis Fit(
        AmplitudeSeries series, AnalysisOptions options, LengthAccuracy? lengths = null, CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(series);
        ArgumentNullException.ThrowIfNull(options);
        lengths ??= LengthAccuracy.Unstated;
        if (!(lengths.OffsetUncertaintyMm >= 0 && double.IsFinite(lengths.OffsetUncertaintyMm)))
        {
            throw new ArgumentOutOfRangeException(
                nameof(lengths), lengths.OffsetUncertaintyMm, "The uncertainty of the offset is finite and not negative.");
        }

        int usable = series.UsableCount;
        series = SeriesGrouping.Of(series, out int pointsPerGroup);
        Finding[] averaged = pointsPerGroup == 1 ? [] :
        [
            FindingKinds.PointsAveraged.With(string.Create(CultureInfo.InvariantCulture,
                $"{usable} usable points were averaged in groups of {pointsPerGroup}, which makes {series.Count}.")),
        ];
        if (options.DriveSteps.Count > 0)
            return OfSweep(series, averaged, options, lengths, cancellationToken);

        EnvelopeFitOptions fitOptions = FitOptionsOf(options);
        EnvelopeFit fit = EnvelopeFitter.Fit(EnvelopeData.FromSeries(series), fitOptions, cancellationToken);
        (double Lower, double Upper)? tauInterval = null;
        if (options.Model == EnvelopeFitOptions.AutomaticModel)
        {
            PlainRival? plain = lengths.OffsetUncertaintyMm > 0
                ? PlainRivalOf(fit, series, fitOptions, lengths.OffsetUncertaintyMm, cancellationToken) : null;
            if (plain is { Penalty: <= FitStatement.Indistinct })
                fit = plain.Instead;
            if (fit.Converged)
            {
                tauInterval = ModelChoice.TauInterval95(
                    fit, model => model == plain?.Instead.Model ? plain.Penalty : double.PositiveInfinity);
            }
        }

        var analysis = new SeriesAnalysis
        {
            FittedSeries = series,
            Fit = fit,
            Parameters = Combined(fit, options, lengths, tauInterval),
            LengthOffsetUncertaintyMm = lengths.OffsetUncertaintyMm,
            Findings = [.. fit.Findings, .. averaged],
        };
        if (!fit.Converged || TauOf(analysis) is not { Value: > 0 and < LargestTauSeconds } tau)
            return analysis;

        UncertainValue? frequency = options.FrequencyHz is double hz ? new UncertainValue(hz, options.FrequencyUncertaintyHz) : null;
        return analysis with
        {
            Budgets = [.. ModelsOf(analysis, options, lengths).Select(model => UncertaintyBudget.From(model))],
            Quantities = OscillatorQuantities.From(new UncertainValue(tau.Value, tau.StandardUncertainty), frequency),
        };
    }

    /// <summary>One model fitted with the settings of an analysis, without comparison with others and without intervals: for a curve that follows the
    /// hand.</summary>
    /// <param name="series">The series.</param>
    /// <param name="options">Window, switch time and loss.</param>
    /// <param name="model">The model.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="UnusableInputException">A setting has a value that there is none of.</exception>
    public static EnvelopeFit Follow(
        AmplitudeSeries series, AnalysisOptions options, string model, CancellationToken cancellationToken = default) =>
        EnvelopeFitter.Fit(
            EnvelopeData.FromSeries(SeriesGrouping.Of(series, out _)),
            FitOptionsOf(options) with { Model = model, CompareModels = false, ProfileIntervals = false }, cancellationToken);

    /// <summary>A drive stepped through resonance: one motion, but no single envelope.</summary>
    private static SeriesAnalysis OfSweep(
        AmplitudeSeries series, IEnumerable<Finding> averaged, AnalysisOptions options, LengthAccuracy lengths, CancellationToken cancellationToken)
    {
        SteppedSweepStudy study = SteppedSweepStudies.Run(
            EnvelopeData.FromSeries(series), [.. options.DriveSteps.Select(step => new DriveStep(step.FrequencyHz, step.StartS))],
            new SteppedSweepOptions
            {
                OffsetUncertaintyMm = lengths.OffsetUncertaintyMm,
                WindowStartSeconds = options.WindowStartS,
                WindowEndSeconds = options.WindowEndS,
            },
            cancellationToken: cancellationToken);
        return new SeriesAnalysis
        {
            FittedSeries = series,
            Fit = new EnvelopeFit
            {
                Model = null, Statement = "The drive was stepped: there is no single envelope.", Stop = LeastSquaresStop.InvalidStart,
            },
            Parameters = [],
            Sweep = study,
            LengthOffsetUncertaintyMm = lengths.OffsetUncertaintyMm,
            Findings = [.. study.Findings, .. averaged],
        };
    }

    private static EnvelopeFitOptions FitOptionsOf(AnalysisOptions options) => new()
    {
        Model = options.Model,
        WindowStartSeconds = options.WindowStartS,
        WindowEndSeconds = options.WindowEndS,
        SwitchTimeSeconds = options.SwitchTimeS,
        SwitchTime = options.SwitchTimeSource switch
        {
            "fitted" => SwitchTimeSource.Fitted,
            "found" => SwitchTimeSource.ChangePoint,
            _ => throw new UnusableInputException("switch_time_source", $"there is none called \"{options.SwitchTimeSource}\"", "Use fitted or found."),
        },
        Loss = options.Loss switch
        {
            "auto" => FitLoss.Auto,
            "robust" => FitLoss.Robust,
            "least-squares" => FitLoss.LeastSquares,
            _ => throw new UnusableInputException("loss", $"there is none called \"{options.Loss}\"", "Use auto, robust or least-squares."),
        },
    };

    private static BootstrapOptions BootstrapOptionsOf(AnalysisOptions options)
    {
        var standard = new BootstrapOptions { Seed = options.Seed };
        return options.BootstrapReplicates is int replicates ? standard with { Replicates = replicates } : standard;
    }

    private static FitParameter? TauOf(SeriesAnalysis analysis) =>
        analysis.Parameters.FirstOrDefault(parameter => parameter.Name == EnvelopeParameters.Tau);

    /// <summary>The measurements of which a budget can be drawn up.</summary>
    private static IEnumerable<MeasurementModel> ModelsOf(SeriesAnalysis analysis, AnalysisOptions options, LengthAccuracy lengths)
    {
        EnvelopeFit fit = analysis.Fit;
        FitParameter tau = TauOf(analysis)!;
        double scatter = fit.Parameter(EnvelopeParameters.Tau)!.StandardUncertainty;
        if (scatter < LargestTauSeconds && tau.StandardUncertainty < LargestTauSeconds)
        {
            var inputs = new TauBudgetInputs
            {
                TauSeconds = tau.Value,
                FitUncertaintySeconds = scatter,
                FitDegreesOfFreedom = fit.EffectiveDegreesOfFreedom,
                LengthOffsetUncertaintySeconds = Part(tau.OffsetUncertainty),
                SwitchTimeUncertaintySeconds = Part(tau.SwitchTimeUncertainty),
                ModelUncertaintySeconds = Part(tau.ModelUncertainty),
            };
            yield return BudgetModels.Tau(inputs);
            if (options.FrequencyHz is double hz && Math.Max(scatter, tau.StandardUncertainty) < LargestShareForQ * tau.Value)
                yield return BudgetModels.QualityFactor(inputs, new UncertainValue(hz, options.FrequencyUncertaintyHz));
        }

        // The amplitude that the motion starts from, or ends at where it starts from rest.
        FitParameter? amplitude = analysis.Parameters.FirstOrDefault(parameter => parameter.Name == EnvelopeParameters.Amplitude0)
            ?? analysis.Parameters.FirstOrDefault(parameter => parameter.Name == EnvelopeParameters.Amplitude1);
        if (options.DistanceMm is double distance && amplitude is not null && double.IsFinite(amplitude.StandardUncertainty))
        {
            double limit = RulerAccuracy.MaximumPermissibleErrorMm(lengths.RulerClass, 2 * amplitude.Value);
            yield return BudgetModels.MirrorAmplitude(new MirrorAmplitudeBudgetInputs
            {
                AmplitudeMm = amplitude.Value,
                AmplitudeUncertaintyMm = fit.Parameter(amplitude.Name)!.StandardUncertainty,
                AmplitudeDegreesOfFreedom = fit.EffectiveDegreesOfFreedom,
                LengthOffsetUncertaintyMm = Part(amplitude.OffsetUncertainty),
                SwitchTimeUncertaintyMm = Part(amplitude.SwitchTimeUncertainty),
                ScaleRelativeUncertainty = lengths.ScaleRelativeUncertainty,
                ScaleDegreesOfFreedom = lengths.ScaleDegreesOfFreedom,
                RulerMaximumErrorMm = Part(limit),
                Lever = new OpticalLever(new UncertainValue(distance, options.DistanceUncertaintyMm)),
            });
        }

        static double? Part(double uncertainty) => uncertainty > 0 ? uncertainty : null;
    }

    /// <summary>A single exponential beside a richer model that was chosen.</summary>
    /// <param name="Instead">The fit to report if it is kept, with the rivals of the chosen one.</param>
    /// <param name="Penalty">The largest difference of the criterion that is held against it, as an offset may explain it.</param>
    private sealed record PlainRival(EnvelopeFit Instead, double Penalty);

    private static PlainRival? PlainRivalOf(
        EnvelopeFit chosen, AmplitudeSeries series, EnvelopeFitOptions options, double offsetMm, CancellationToken cancellationToken)
    {
        if (PlainModels.Contains(chosen.ModelName))
            return null;

        RivalModel? rival = chosen.Rivals.Where(r => PlainModels.Contains(r.Model)).MinBy(r => r.Aicc);
        if (rival is null)
            return null;

        EnvelopeFit plain = EnvelopeFitter.Fit(EnvelopeData.FromSeries(series), options with { Model = rival.Model, CompareModels = false }, cancellationToken);
        if (!plain.Converged)
            return null;

        double[] differences = [.. plain.Points.Where(p => p.IsUsed)
            .Select(p => p.CurveMm - (chosen.Converged ? chosen.Curve(p.TimeSeconds) : double.NaN))];
        double rms = Math.Sqrt(differences.Average(d => d * d));

        // A model under which the data do not bound the decay time says nothing about it, however well it follows the points.
        bool bounded = chosen.Converged && chosen.Parameter(EnvelopeParameters.Tau) is FitParameter tau
            && double.IsFinite(tau.Lower95) && double.IsFinite(tau.Upper95);
        if (!bounded && plain.Findings.Any(finding => finding.Code == FindingKinds.ModelDoesNotFit.Code))
            return null;
        string compared = bounded
            ? string.Create(CultureInfo.InvariantCulture,
                $"the model {chosen.ModelName} has a lower AICc, but its curve differs by {rms:0.000} mm only, and all lengths may be off by {offsetMm:0.000} mm")
            : $"the model {chosen.ModelName} has a lower AICc, but does not bound the decay time";
        return new PlainRival(
            plain with { Rivals = chosen.Rivals, Candidates = chosen.Candidates, Statement = $"A single exponential is enough: {compared}." },
            bounded ? rms / offsetMm * (rms / offsetMm) : 0);
    }

    /// <summary>The fit's parameters with what the scatter of the points can't show.</summary>
    private static IReadOnlyList<FitParameter> Combined(
        EnvelopeFit fit, AnalysisOptions options, LengthAccuracy lengths, (double Lower, double Upper)? tauInterval)
    {
        if (!fit.Converged)
            return fit.Parameters;

        double[] none = new double[fit.Parameters.Count];
        double[] offset = lengths.OffsetUncertaintyMm > 0 ? FitSensitivity.ToOffset(fit, lengths.OffsetUncertaintyMm) : none;
        double timeUncertainty = fit.FoundSwitch?.StandardUncertaintySeconds
            ?? (options.SwitchTimeS is null ? 0 : options.SwitchTimeUncertaintyS);
        double[] switchTime = timeUncertainty > 0 ? FitSensitivity.ToSwitchTime(fit, timeUncertainty) : none;
        return [.. fit.Parameters.Select((parameter, j) => With((parameter.Name == EnvelopeParameters.Tau && tauInterval is { } interval
            ? OverModels(parameter, interval) : parameter) with
        {
            OffsetUncertainty = Math.Abs(offset[j]),
            SwitchTimeUncertainty = Math.Abs(switchTime[j]),
        }))];
    }

    /// <summary>
    /// Tau with its interval over the models. Its standard uncertainty grows by the part that carries the farther end: an interval that is
    /// symmetric about the estimate and holds the truth as often must reach as far.
    /// </summary>
    private static FitParameter OverModels(FitParameter tau, (double Lower, double Upper) interval)
    {
        double alone = Math.Max(tau.Value - tau.Lower95, tau.Upper95 - tau.Value);
        double reach = Math.Max(tau.Value - interval.Lower, interval.Upper - tau.Value);
        double added = double.IsFinite(reach) ? tau.StandardUncertainty * Math.Sqrt(Math.Max(0, Math.Pow(reach / alone, 2) - 1)) : 0;
        return tau with
        {
            Lower95 = interval.Lower, Upper95 = interval.Upper, ModelUncertainty = added,
            StandardUncertainty = Hypotenuse(tau.StandardUncertainty, added),
        };
    }

    // The interval's ends move outward as a normal contribution of this size moves them, so an asymmetric interval stays asymmetric.
    private static FitParameter With(FitParameter parameter)
    {
        double added = Hypotenuse(parameter.OffsetUncertainty, parameter.SwitchTimeUncertainty);
        if (added == 0)
            return parameter;

        double reach = CoverageFactor.TwoSided(0.95, double.PositiveInfinity) * added;
        return parameter with
        {
            StandardUncertainty = parameter.IsHeld ? added : Hypotenuse(parameter.StandardUncertainty, added),
            Lower95 = parameter.Value - (parameter.IsHeld ? reach : Hypotenuse(parameter.Value - parameter.Lower95, reach)),
            Upper95 = parameter.Value + (parameter.IsHeld ? reach : Hypotenuse(parameter.Upper95 - parameter.Value, reach)),
        };
    }

    private static double Hypotenuse(double a, double b) => Math.Sqrt((a * a) + (b * b));
}
