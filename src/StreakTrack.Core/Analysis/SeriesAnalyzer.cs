using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Analysis;

/// <summary>The stages from the series on: fit, then physical quantities. The same for a series from a clip and for one from a file.</summary>
/// <remarks>
/// The fit knows only how the points scatter. What all lengths of a clip have in common, an offset from a spot that is not quite of the assumed
/// shape, does not scatter: it looks like a floor under a decay. So it is treated here, in two ways. It enters the uncertainty of every
/// parameter by refitting with all amplitudes shifted. And a model that follows the points better than a single exponential, but by
/// less than that offset, is no evidence for a second cause of damping; then the single exponential is kept.
/// </remarks>
public static class SeriesAnalyzer
{
    /// <summary>The models with one cause of damping and one level, which more elaborate ones have to beat.</summary>
    private static readonly string[] PlainModels = ["decay", "rise"];

    /// <summary>Analyses a series.</summary>
    /// <param name="series">The series.</param>
    /// <param name="options">Model, window, switch time and frequency.</param>
    /// <param name="lengthOffsetUncertaintyMm">Standard uncertainty of an offset that all amplitudes may have in common, in mm; 0 for none.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public static SeriesAnalysis Analyze(
        AmplitudeSeries series, AnalysisOptions options, double lengthOffsetUncertaintyMm = 0, CancellationToken cancellationToken = default)
    {
        if (!(lengthOffsetUncertaintyMm >= 0 && double.IsFinite(lengthOffsetUncertaintyMm)))
        {
            throw new ArgumentOutOfRangeException(
                nameof(lengthOffsetUncertaintyMm), lengthOffsetUncertaintyMm, "An uncertainty is finite and not negative.");
        }

        var fitOptions = new EnvelopeFitOptions
        {
            Model = options.Model,
            WindowStartSeconds = options.WindowStartS,
            WindowEndSeconds = options.WindowEndS,
            SwitchTimeSeconds = options.SwitchTimeS,
        };
        EnvelopeFit fit = EnvelopeFitter.Fit(EnvelopeData.FromSeries(series), fitOptions, cancellationToken);
        if (options.Model == EnvelopeFitOptions.AutomaticModel && lengthOffsetUncertaintyMm > 0)
            fit = PlainIfWithinOffset(fit, series, fitOptions, lengthOffsetUncertaintyMm, cancellationToken);

        IReadOnlyList<FitParameter> parameters = WithOffset(fit, series, fitOptions, lengthOffsetUncertaintyMm, cancellationToken);
        if (!fit.Converged || parameters.FirstOrDefault(p => p.Name == EnvelopeParameters.Tau) is not FitParameter { Value: > 0 } tau)
            return new SeriesAnalysis(fit, parameters, lengthOffsetUncertaintyMm, null, [], null, fit.Findings);

        UncertainValue? frequency = options.FrequencyHz is double hz ? new UncertainValue(hz, options.FrequencyUncertaintyHz) : null;
        RobustnessTable robustness = RobustnessStudy.Run(EnvelopeData.FromSeries(series), fitOptions, fit, cancellationToken);
        return new SeriesAnalysis(
            fit, parameters, lengthOffsetUncertaintyMm, robustness, BudgetsOf(fit, tau, frequency),
            OscillatorQuantities.From(new UncertainValue(tau.Value, tau.StandardUncertainty), frequency),
            [.. fit.Findings, .. Alarming(robustness, tau.StandardUncertainty)]);
    }

    // The table compares with the scatter of the points. What the stated uncertainty covers, the common offset included, is no alarm.
    private static IEnumerable<Finding> Alarming(RobustnessTable robustness, double tauUncertaintySeconds)
    {
        double largest = robustness.Rows
            .Where(r => r.Group is RobustnessGroup.WindowStart or RobustnessGroup.WindowEnd)
            .Select(r => Math.Abs(r.DifferenceSeconds)).Where(double.IsFinite).DefaultIfEmpty(0).Max();
        return robustness.Findings.Where(f => f.Code != FindingKinds.TauDependsOnWindow.Code || largest > 2 * tauUncertaintySeconds);
    }

    private static IReadOnlyList<UncertaintyBudget> BudgetsOf(EnvelopeFit fit, FitParameter tau, UncertainValue? frequency)
    {
        double scatter = fit.Parameter(EnvelopeParameters.Tau)!.StandardUncertainty;
        if (!double.IsFinite(scatter) || !double.IsFinite(tau.StandardUncertainty))
            return [];

        double offset = Math.Sqrt(Math.Max(0, (tau.StandardUncertainty * tau.StandardUncertainty) - (scatter * scatter)));
        var inputs = new TauBudgetInputs
        {
            TauSeconds = tau.Value,
            FitUncertaintySeconds = scatter,
            FitDegreesOfFreedom = fit.EffectiveDegreesOfFreedom,
            LengthOffsetUncertaintySeconds = offset > 0 ? offset : null,
        };
        UncertaintyBudget ofTau = UncertaintyBudget.From(BudgetModels.Tau(inputs));
        return frequency is UncertainValue hz ? [ofTau, UncertaintyBudget.From(BudgetModels.QualityFactor(inputs, hz))] : [ofTau];
    }

    private static EnvelopeFit PlainIfWithinOffset(
        EnvelopeFit chosen, AmplitudeSeries series, EnvelopeFitOptions options, double offsetMm, CancellationToken cancellationToken)
    {
        if (PlainModels.Contains(chosen.ModelName))
            return chosen;

        RivalModel? rival = chosen.Rivals.Where(r => PlainModels.Contains(r.Model)).MinBy(r => r.Aicc);
        if (rival is null)
            return chosen;

        EnvelopeFit plain = EnvelopeFitter.Fit(EnvelopeData.FromSeries(series), options with { Model = rival.Model, CompareModels = false }, cancellationToken);
        if (!plain.Converged)
            return chosen;

        double[] differences = [.. plain.Points.Where(p => p.IsUsed)
            .Select(p => p.CurveMm - (chosen.Converged ? chosen.Curve(p.TimeSeconds) : double.NaN))];
        double rms = Math.Sqrt(differences.Average(d => d * d));

        // A model under which the data do not bound the decay time says nothing about it, however well it follows the points.
        bool bounded = chosen.Converged && chosen.Parameter(EnvelopeParameters.Tau) is FitParameter tau
            && double.IsFinite(tau.Lower95) && double.IsFinite(tau.Upper95);
        if (bounded && rms > offsetMm)
            return chosen;

        string compared = bounded
            ? string.Create(CultureInfo.InvariantCulture,
                $"the model {chosen.ModelName} has a lower AICc, but its curve differs by {rms:0.000} mm only, and all lengths may be off by {offsetMm:0.000} mm")
            : $"the model {chosen.ModelName} has a lower AICc, but does not bound the decay time";
        return plain with { Rivals = chosen.Rivals, Statement = $"A single exponential is enough: {compared}." };
    }

    private static IReadOnlyList<FitParameter> WithOffset(
        EnvelopeFit fit, AmplitudeSeries series, EnvelopeFitOptions options, double offsetMm, CancellationToken cancellationToken)
    {
        if (!fit.Converged || offsetMm == 0)
            return fit.Parameters;

        EnvelopeFitOptions same = options with { Model = fit.ModelName, CompareModels = false, ProfileIntervals = false };
        EnvelopeFit up = Shifted(+offsetMm), down = Shifted(-offsetMm);
        if (!up.Converged || !down.Converged)
            return fit.Parameters;

        return [.. fit.Parameters.Select(p => WithContribution(p, (ValueIn(up, p) - ValueIn(down, p)) / 2))];

        EnvelopeFit Shifted(double shiftMm) => EnvelopeFitter.Fit(
            EnvelopeData.FromSeries(new AmplitudeSeries(series.Select(s => s with { AmplitudeMm = s.AmplitudeMm + shiftMm }))), same, cancellationToken);
    }

    private static double ValueIn(EnvelopeFit fit, FitParameter parameter) => fit.Parameter(parameter.Name)?.Value ?? double.NaN;

    // The interval's ends move outward as a normal contribution of this size moves them, so an asymmetric interval stays asymmetric.
    private static FitParameter WithContribution(FitParameter parameter, double contribution)
    {
        const double coverage = 1.959963984540054;   // two-sided 95 % quantile of the normal distribution
        return parameter.IsHeld || !double.IsFinite(contribution) ? parameter : parameter with
        {
            StandardUncertainty = Math.Sqrt((parameter.StandardUncertainty * parameter.StandardUncertainty) + (contribution * contribution)),
            Lower95 = parameter.Value - Widened(parameter.Value - parameter.Lower95),
            Upper95 = parameter.Value + Widened(parameter.Upper95 - parameter.Value),
        };

        double Widened(double distance) => Math.Sqrt((distance * distance) + (coverage * contribution * (coverage * contribution)));
    }
}
