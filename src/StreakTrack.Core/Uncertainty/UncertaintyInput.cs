namespace StreakTrack.Core.Uncertainty;

/// <summary>One input quantity of a measurement: its estimate and what is known of its uncertainty.</summary>
public sealed record UncertaintyInput
{
    /// <summary>Describes an input.</summary>
    /// <param name="name">Name for people, unique within a model: "distance", "time base".</param>
    /// <param name="unit">Unit of estimate and uncertainty; empty for a pure number.</param>
    /// <param name="estimate">Best estimate, finite.</param>
    /// <param name="standardUncertainty">Standard uncertainty, finite, not negative.</param>
    /// <exception cref="ArgumentOutOfRangeException">A number is outside its range.</exception>
    public UncertaintyInput(string name, string unit, double estimate, double standardUncertainty)
    {
        if (!double.IsFinite(estimate))
            throw new ArgumentOutOfRangeException(nameof(estimate), estimate, $"The estimate of {name} must be finite.");
        if (!(standardUncertainty >= 0 && double.IsFinite(standardUncertainty)))
            throw new ArgumentOutOfRangeException(nameof(standardUncertainty), standardUncertainty,
                $"The standard uncertainty of {name} must be finite and not negative.");

        Name = name;
        Unit = unit;
        Estimate = estimate;
        StandardUncertainty = standardUncertainty;
    }

    /// <summary>Name for people, unique within a model.</summary>
    public string Name { get; }

    /// <summary>Unit of estimate and uncertainty; empty for a pure number.</summary>
    public string Unit { get; }

    /// <summary>Best estimate.</summary>
    public double Estimate { get; }

    /// <summary>Standard uncertainty.</summary>
    public double StandardUncertainty { get; }

    /// <summary>Degrees of freedom of the standard uncertainty, positive; default infinite: it is taken as known.</summary>
    public double DegreesOfFreedom { get; init; } = double.PositiveInfinity;

    /// <summary>How the uncertainty was evaluated. Default B.</summary>
    public EvaluationType Evaluation { get; init; } = EvaluationType.B;

    /// <summary>The distribution that stands for the input. Default normal.</summary>
    public InputDistribution Distribution { get; init; } = InputDistribution.Normal;

    /// <summary>Where the uncertainty comes from, in a few words.</summary>
    public string Basis { get; init; } = "";

    /// <summary>An input of which only limits are known: rectangular, u = half width/sqrt(3) (JCGM 100:2008, 4.3.7).</summary>
    /// <param name="name">Name for people.</param>
    /// <param name="unit">Unit; empty for a pure number.</param>
    /// <param name="estimate">The middle of the limits.</param>
    /// <param name="halfWidth">Half the distance between the limits, not negative.</param>
    public static UncertaintyInput WithinLimits(string name, string unit, double estimate, double halfWidth) =>
        new(name, unit, estimate, halfWidth / Math.Sqrt(3)) { Distribution = InputDistribution.Rectangular };
}
