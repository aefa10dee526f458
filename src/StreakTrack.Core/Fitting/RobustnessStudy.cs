using System.Globalization;
using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Fitting;

/// <summary>Repeats a fit with other windows, estimates, weights and models: what a referee asks first.</summary>
public static class RobustnessStudy
{
    /// <summary>
    /// Differences beyond this many of their standard deviations are no chance; with some ten rows 3 would be met now and then.
    /// </summary>
    private const double LargestRatio = 3.5;

    private static readonly double[] LaterStarts = [0.25, 0.5, 0.75, 1, 1.5];
    private static readonly double[] EarlierEnds = [0.1, 0.2, 0.3, 0.4, 0.5];

    /// <summary>Makes the table.</summary>
    /// <param name="data">The points of the fit.</param>
    /// <param name="options">The settings of the fit.</param>
    /// <param name="fit">The fit; it converged.</param>
    /// <param name="leastDifferenceSeconds">Smaller differences of the decay time, in s, are no alarm, however surely they are there.</param>
    /// <param name="cancellationToken">Ends the work with <see cref="OperationCanceledException"/>.</param>
    /// <exception cref="ArgumentException">The fit did not converge.</exception>
    public static RobustnessTable Run(
        EnvelopeData data, EnvelopeFitOptions options, EnvelopeFit fit, double leastDifferenceSeconds = 0,
        CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(data);
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(fit);
        if (!fit.Converged)
            throw new ArgumentException("Only a fit that converged can be varied.", nameof(fit));

        FitParameter tau = fit.Parameter(EnvelopeParameters.Tau)!;
        EnvelopeFitOptions same = options with { Model = fit.ModelName, CompareModels = false, ProfileIntervals = false };
        var rows = new List<RobustnessRow>
        {
            new(RobustnessGroup.Analysis, $"as analysed ({fit.ModelName})", double.NaN, tau.Value, tau.StandardUncertainty, 0, double.NaN,
                fit.PointCount),
        };

        double t0 = fit.SteadyPartSeen ? fit.Parameters[^1].Value : fit.WindowStartSeconds;
        double end = fit.WindowEndSeconds;
        foreach (double share in LaterStarts)
        {
            double start = t0 + share * tau.Value;
            if (end - start > Math.Min(1.5 * tau.Value, 0.5 * (end - t0)))
            {
                Add(RobustnessGroup.WindowStart, Text($"window from {start:F2} s on"), start, data,
                    same with { WindowStartSeconds = start, SwitchTimeSeconds = null }, isPart: true);
            }
        }

        foreach (double share in EarlierEnds)
        {
            double earlier = end - share * (end - t0);
            Add(RobustnessGroup.WindowEnd, Text($"window up to {earlier:F2} s"), earlier, data,
                same with { WindowEndSeconds = earlier }, isPart: true);
        }

        EnvelopeData threshold = data.WithThresholdAmplitudes();
        if (threshold.Usable.Any(usable => usable))
            Add(RobustnessGroup.Estimate, "threshold estimate of the ends", double.NaN, threshold, same, isPart: false);

        bool uncertain = !double.IsNaN(fit.ReducedChiSquare);
        foreach (PointWeighting weighting in uncertain ? Enum.GetValues<PointWeighting>() : [])
        {
            if (weighting != options.Weighting)
                Add(RobustnessGroup.Weighting, NameOf(weighting), double.NaN, data, same with { Weighting = weighting }, isPart: false);
        }

        FitLoss otherLoss = fit.RobustLoss ? FitLoss.LeastSquares : FitLoss.Robust;
        Add(RobustnessGroup.Loss, fit.RobustLoss ? "plain least squares" : "robust loss", double.NaN, data,
            same with { Loss = otherLoss }, isPart: false);

        foreach (RivalModel rival in fit.Rivals)
        {
            if (rival.Model != fit.ModelName && !rival.IsAtBound)
            {
                rows.Add(new RobustnessRow(
                    RobustnessGroup.Model, $"model {rival.Model}", double.NaN, rival.TauSeconds, rival.TauUncertaintySeconds,
                    rival.TauSeconds - tau.Value, double.NaN, fit.PointCount));
            }
        }

        return new RobustnessTable(rows, [.. FindingsOf(rows, leastDifferenceSeconds)]);

        void Add(RobustnessGroup group, string label, double setting, EnvelopeData points, EnvelopeFitOptions changed, bool isPart)
        {
            EnvelopeFit varied = EnvelopeFitter.Fit(points, changed, cancellationToken);
            if (!varied.Converged)
            {
                rows.Add(new RobustnessRow(group, label + " (no fit)", setting, double.NaN, double.NaN, double.NaN, double.NaN, 0));
                return;
            }

            FitParameter other = varied.Parameter(EnvelopeParameters.Tau)!;
            double difference = other.Value - tau.Value;
            double part = other.StandardUncertainty * other.StandardUncertainty, whole = tau.StandardUncertainty * tau.StandardUncertainty;

            // Of a part and the whole, the variance of the difference is the difference of the variances. Both are estimates, good to
            // sqrt(2/degrees of freedom), so that their difference can be small by chance: two standard deviations are allowed for. It is at
            // most the part's own, which stands in where the scatter about a wrong curve made the whole's the larger.
            double allowance = 2 * Math.Sqrt(2 / Math.Max(1, varied.EffectiveDegreesOfFreedom)) * part;
            double deviation = Math.Sqrt(part > whole ? Math.Min(part, part - whole + allowance) : part);
            double ratio = isPart ? difference / deviation : double.NaN;
            rows.Add(new RobustnessRow(
                group, label, setting, other.Value, other.StandardUncertainty, difference, ratio, varied.PointCount));
        }
    }

    /// <summary>Remarks on a table.</summary>
    /// <param name="rows">Its rows; the first is the analysis itself.</param>
    /// <param name="leastDifferenceSeconds">Smaller differences of the decay time, in s, are no alarm, however surely they are there.</param>
    private static IEnumerable<Finding> FindingsOf(List<RobustnessRow> rows, double leastDifferenceSeconds)
    {
        RobustnessRow? worst = rows
            .Where(row => Math.Abs(row.DifferenceRatio) > LargestRatio && Math.Abs(row.DifferenceSeconds) > leastDifferenceSeconds)
            .MaxBy(row => Math.Abs(row.DifferenceRatio));
        if (worst is not null)
        {
            yield return FindingKinds.TauDependsOnWindow.With(Text(
                $"With the {worst.Label} tau is {worst.TauSeconds:G4} s instead of {rows[0].TauSeconds:G4} s, {Math.Abs(worst.DifferenceRatio):F1} times what chance allows."));
        }
    }

    private static string NameOf(PointWeighting weighting) => weighting switch
    {
        PointWeighting.Equal => "all points alike",
        PointWeighting.Given => "weights from the frames' own uncertainties",
        _ => "weights from own uncertainties and a common scatter",
    };

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
