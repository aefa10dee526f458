namespace StreakTrack.Core.Uncertainty;

/// <summary>
/// Uncertainty budget after JCGM 100:2008 (the GUM): first-order propagation, effective degrees of freedom after Welch and Satterthwaite,
/// expanded uncertainty with its coverage factor.
/// </summary>
public sealed record UncertaintyBudget
{
    /// <summary>Coverage probability used unless another is asked for.</summary>
    public const double DefaultCoverageProbability = 0.95;

    private UncertaintyBudget()
    {
    }

    /// <summary>Name of the result.</summary>
    public required string Quantity { get; init; }

    /// <summary>Unit of the result; empty for a pure number.</summary>
    public required string Unit { get; init; }

    /// <summary>The result: the function at the inputs' estimates.</summary>
    public required double Estimate { get; init; }

    /// <summary>One line an input, in the order of the model.</summary>
    public required IReadOnlyList<BudgetComponent> Components { get; init; }

    /// <summary>Correlations that were taken into account.</summary>
    public required IReadOnlyList<InputCorrelation> Correlations { get; init; }

    /// <summary>Combined standard uncertainty of the result.</summary>
    public required double CombinedStandardUncertainty { get; init; }

    /// <summary>Effective degrees of freedom of the combined standard uncertainty, not rounded; infinite when all inputs' are.</summary>
    public required double EffectiveDegreesOfFreedom { get; init; }

    /// <summary>Coverage probability of the expanded uncertainty.</summary>
    public required double CoverageProbability { get; init; }

    /// <summary>Coverage factor: the t quantile for the coverage probability and the effective degrees of freedom.</summary>
    public required double CoverageFactor { get; init; }

    /// <summary>Expanded uncertainty: coverage factor times combined standard uncertainty.</summary>
    public double ExpandedUncertainty => CoverageFactor * CombinedStandardUncertainty;

    /// <summary>The result with its combined standard uncertainty.</summary>
    public UncertainValue Result => new(Estimate, CombinedStandardUncertainty);

    /// <summary>Draws up the budget of a measurement.</summary>
    /// <param name="model">The measurement.</param>
    /// <param name="coverageProbability">Coverage probability of the expanded uncertainty, above 0 and below 1. Default 0.95.</param>
    /// <exception cref="ArgumentException">The function is not finite at or around the estimates.</exception>
    /// <remarks>
    /// Sensitivities are central differences of fourth order. The formula of Welch and Satterthwaite (JCGM 100:2008, G.4.1) holds for
    /// independent inputs; inputs that are correlated enter it as one component, with the smallest degrees of freedom among them,
    /// which is exact
    /// for parameters of one fit.
    /// </remarks>
    public static UncertaintyBudget From(MeasurementModel model, double coverageProbability = DefaultCoverageProbability)
    {
        double[] at = [.. model.Inputs.Select(input => input.Estimate)];
        double estimate = model.Function(at);
        if (!double.IsFinite(estimate))
            throw new ArgumentException($"The value of {model.Quantity} is not finite at the inputs' estimates.", nameof(model));

        double[] sensitivity = Sensitivities(model, at);
        int n = at.Length;
        double[] contribution = [.. Enumerable.Range(0, n).Select(i => sensitivity[i] * model.Inputs[i].StandardUncertainty)];
        var variancePart = new double[n];
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
                variancePart[i] += contribution[i] * model.Correlation[i, j] * contribution[j];
        }

        double variance = Math.Max(0, variancePart.Sum());
        double sumOverDegrees = 0;
        foreach (int[] group in model.Groups)
        {
            double groupVariance = group.Sum(i => variancePart[i]);
            double degrees = group.Where(i => contribution[i] != 0).Select(i => model.Inputs[i].DegreesOfFreedom)
                .DefaultIfEmpty(double.PositiveInfinity).Min();
            sumOverDegrees += groupVariance * groupVariance / degrees;
        }

        double effective = sumOverDegrees > 0 ? variance * variance / sumOverDegrees : double.PositiveInfinity;
        return new UncertaintyBudget
        {
            Quantity = model.Quantity,
            Unit = model.Unit,
            Estimate = estimate,
            Components =
            [
                .. Enumerable.Range(0, n).Select(i => new BudgetComponent(
                    model.Inputs[i], sensitivity[i], contribution[i], variance > 0 ? variancePart[i] / variance : 0)),
            ],
            Correlations = model.Correlations,
            CombinedStandardUncertainty = Math.Sqrt(variance),
            EffectiveDegreesOfFreedom = effective,
            CoverageProbability = coverageProbability,
            CoverageFactor = Uncertainty.CoverageFactor.TwoSided(coverageProbability, effective),
        };
    }

    private static double[] Sensitivities(MeasurementModel model, double[] at)
    {
        // Step: truncation h⁴ and rounding eps/h balance near eps^(1/5) of the scale on which the function bends, here at least the
        // larger of estimate and uncertainty.
        const double relativeStep = 7e-4;
        var sensitivity = new double[at.Length];
        double[] moved = [.. at];
        for (int i = 0; i < at.Length; i++)
        {
            double scale = Math.Max(Math.Abs(at[i]), model.Inputs[i].StandardUncertainty);
            double h = (scale > 0 ? scale : 1) * relativeStep;
            double At(double steps)
            {
                moved[i] = at[i] + (steps * h);
                return model.Function(moved);
            }

            sensitivity[i] = ((8 * (At(1) - At(-1))) - (At(2) - At(-2))) / (12 * h);
            moved[i] = at[i];
            if (!double.IsFinite(sensitivity[i]))
            {
                throw new ArgumentException(
                    $"The value of {model.Quantity} is not finite when {model.Inputs[i].Name} is changed slightly.", nameof(model));
            }
        }

        return sensitivity;
    }
}
