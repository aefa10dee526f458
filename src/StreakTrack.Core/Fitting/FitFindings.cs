using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Fitting;

/// <summary>Looks for doubts about a fit.</summary>
internal static class FitFindings
{
    /// <summary>Decay times in the record below which tau, amplitude and floor are hard to tell apart.</summary>
    private const double ShortestWindow = 2;

    /// <summary>Residuals this many times larger than their local scatter follow no model tried.</summary>
    private const double MisfitRatio = 5;

    /// <summary>Residuals of more than three times the frames' own uncertainties.</summary>
    public const double LargestReducedChiSquare = 9;

    /// <summary>Residuals of this share of the motion count as large where uncertainties are missing.</summary>
    private const double NoticeableShare = 0.01;

    /// <summary>With residuals of this share of the motion no number of the fit is of use.</summary>
    private const double UselessShare = 0.05;

    /// <summary>Fewest points from which a scatter from point to point is taken.</summary>
    private const int FewestForScatter = 12;

    public static IEnumerable<Finding> Of(EnvelopeFit fit)
    {
        FitParameter tau = fit.Parameter(EnvelopeParameters.Tau)!;
        double begin = fit.SteadyPartSeen ? fit.Parameters[^1].Value : fit.WindowStartSeconds;
        double length = fit.WindowEndSeconds - begin;

        if (double.IsPositiveInfinity(tau.Upper95) || tau.Value > 20 * length)
        {
            yield return FindingKinds.NoChangeSeen.With(Text(
                $"The decay time found is {tau.Value:G3} s with {Interval(tau)}, and the motion was followed for {length:F2} s only."));
        }
        else if (length < ShortestWindow * tau.Value)
        {
            yield return FindingKinds.ShortWindow.With(Text(
                $"The motion was followed for {length:F2} s after the change, which is {length / tau.Value:F1} decay times."));
        }

        foreach (FitParameter parameter in fit.Parameters)
        {
            if (parameter.IsAtBound)
                yield return FindingKinds.ParameterAtBound.With(Text($"{parameter.Name} was held at {parameter.Value:G4}."));
            else if (!parameter.IsHeld && (double.IsInfinity(parameter.Lower95) || double.IsInfinity(parameter.Upper95)))
                yield return FindingKinds.OpenInterval.With(Text($"{parameter.Name} is {parameter.Value:G4} with {Interval(parameter)}."));
        }

        foreach (Finding finding in OfModels(fit, tau))
            yield return finding;

        if (fit.NoiseCorrelation > 0)
        {
            double factor = tau.StandardUncertainty / tau.IndependentStandardUncertainty;
            yield return FindingKinds.CorrelatedResiduals.With(Text(
                $"Residuals one frame apart have a correlation of {fit.NoiseCorrelation:F2}; the standard uncertainty of tau is {factor:F1} times as large as for independent ones."));
        }

        int outliers = fit.Points.Count(point => point.Use == PointUse.Outlier);
        if (outliers > 0)
        {
            string frames = string.Join(
                ", ", fit.Points.Where(point => point.Use == PointUse.Outlier).Take(8).Select(point => point.Frame));
            string treatment = fit.RobustLoss
                ? "they were kept, with less weight the farther off they are"
                : "they were kept with full weight";
            yield return FindingKinds.Outliers.With(Text(
                $"{outliers} of {fit.PointCount} points lie far off the curve (frames {frames}{(outliers > 8 ? ", …" : "")}); {treatment}."));
        }

        if (Misfit(fit, out double share) is Finding misfit)
            yield return share > UselessShare ? misfit with { Severity = FindingSeverity.Error } : misfit;
    }

    /// <summary>
    /// Residuals that are slow, and large beside what the frames themselves promise: beyond their uncertainties, or where there are none,
    /// beyond a hundredth of the motion. Slow ones alone are no misfit: the ends wander over the pixels just as slowly.
    /// </summary>
    private static Finding? Misfit(EnvelopeFit fit, out double share)
    {
        double[] used = [.. fit.Points.Where(point => point.IsUsed).Select(point => point.AmplitudeMm)];
        share = fit.ResidualRmsMm / (used.Max() - used.Min());
        double local = LocalScatter.Of([.. fit.Points.Where(point => point.IsUsed).Select(point => point.ResidualMm)]);
        bool slow = fit.PointCount >= FewestForScatter && local > 0 && fit.ResidualRmsMm > MisfitRatio * local;
        bool large = double.IsNaN(fit.ReducedChiSquare)
            ? share > NoticeableShare
            : fit.ReducedChiSquare > LargestReducedChiSquare;
        return slow && large
            ? FindingKinds.ModelDoesNotFit.With(Text(
                $"The residuals of {fit.ModelName} are {fit.ResidualRmsMm:G2} mm (root mean square), the scatter from frame to frame is {local:G2} mm."))
            : null;
    }

    private static IEnumerable<Finding> OfModels(EnvelopeFit fit, FitParameter tau)
    {
        RivalModel? own = fit.Rivals.FirstOrDefault(rival => rival.Model == fit.ModelName);
        if (own is null)
            yield break;
        RivalModel? better = fit.Rivals.Where(rival => !rival.IsAtBound).MinBy(rival => rival.Aicc);
        RivalModel? decay = fit.Rivals.FirstOrDefault(rival => rival.Model == "decay");
        bool decayRefused = decay is not null && better is not null && better.Model != "decay"
            && decay.Aicc - better.Aicc > FitStatement.Decisive;
        if (decayRefused)
        {
            yield return FindingKinds.NotSingleExponential.With(Text(
                $"The model {better!.Model} has an AICc lower by {decay!.Aicc - better.Aicc:F1}: its tau is {Tau(better)}, that of a single exponential {Tau(decay)}."));
        }

        foreach (RivalModel rival in fit.Rivals)
        {
            bool indistinct = rival.Model != fit.ModelName && !rival.IsAtBound
                && Math.Abs(rival.Aicc - own.Aicc) < FitStatement.Indistinct;
            if (indistinct && Math.Abs(rival.TauSeconds - tau.Value) > tau.StandardUncertainty)
            {
                yield return FindingKinds.ModelsNotToldApart.With(Text(
                    $"{fit.ModelName} (tau {Tau(tau.Value, tau.StandardUncertainty)}) and {rival.Model} (tau {Tau(rival)}) differ in AICc by {Math.Abs(rival.Aicc - own.Aicc):F1} only."));
            }
        }
    }

    private static string Tau(RivalModel rival) => Tau(rival.TauSeconds, rival.TauUncertaintySeconds);

    private static string Tau(double seconds, double uncertaintySeconds) =>
        uncertaintySeconds > 0 && double.IsFinite(uncertaintySeconds)
            ? Notation.Concise(new UncertainValue(seconds, uncertaintySeconds), "s") : Text($"{seconds:G4} s");

    private static string Interval(FitParameter parameter)
    {
        string lower = double.IsInfinity(parameter.Lower95) ? "no lower limit" : Text($"at least {parameter.Lower95:G4}");
        string upper = double.IsInfinity(parameter.Upper95) ? "no upper limit" : Text($"at most {parameter.Upper95:G4}");
        return $"{lower} and {upper} at 95 %";
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
