using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.Submissions;

/// <summary>Looks at what was chosen by hand, beside an automatic run of the same clip.</summary>
public static class ChoiceReview
{
    /// <summary>Remarks on window, model and frames left out.</summary>
    /// <param name="stated">The record handed in.</param>
    /// <param name="automatic">The record of the automatic run.</param>
    public static IEnumerable<Finding> Of(AnalysisRecord stated, AnalysisRecord automatic)
    {
        AnalysisOptions options = stated.Options;
        if (options.WindowStartS is not null || options.WindowEndS is not null)
        {
            yield return FindingKinds.WindowChosen.With(string.Create(CultureInfo.InvariantCulture,
                $"The fit was confined to {End(options.WindowStartS, "the start")} to {End(options.WindowEndS, "the end")} of the series."));
        }

        if (options.Model != "auto" && automatic.Result.Fit is FitRecord fit && fit.Model != options.Model)
            yield return FindingKinds.ModelChosen.With($"The model {options.Model} was named; an automatic run chooses {fit.Model}.");
        if (options.ExcludedFrames.Count > 0)
            yield return FindingKinds.FramesLeftOut.With($"{options.ExcludedFrames.Count} of {automatic.Result.Series.Frames} frames were left out by hand.");
    }

    /// <summary>The normalised error against the automatic run, and a remark where the criterion is not met.</summary>
    /// <param name="stated">Decay time stated, in s.</param>
    /// <param name="automatic">Decay time of the automatic run, in s.</param>
    public static (double NormalisedError, Finding? Remark) Against(QuantityRecord stated, QuantityRecord automatic)
    {
        double error = NormalisedError.Of(Uncertain(stated), Uncertain(automatic));
        return (error, NormalisedError.Agrees(error) ? null : FindingKinds.TauDisagrees.With(string.Create(CultureInfo.InvariantCulture,
            $"Stated tau {stated.Value:0.####} s with U = {2 * stated.StandardUncertainty:0.####} s, automatic {automatic.Value:0.####} s with U = {2 * automatic.StandardUncertainty:0.####} s (k = 2): E_n = {error:0.00}, and at most 1 in magnitude is asked for.")));
    }

    private static string End(double? seconds, string otherwise) => seconds is double s ? string.Create(CultureInfo.InvariantCulture, $"{s:0.###} s") : otherwise;

    private static UncertainValue Uncertain(QuantityRecord quantity) => new(quantity.Value, quantity.StandardUncertainty ?? double.NaN);
}
