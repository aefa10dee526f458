using StreakTrack.Core.Scale;

namespace StreakTrack.Core.Analysis;

/// <summary>What is known of errors that all amplitudes of a series share, and that the scatter of its points therefore can't show.</summary>
public sealed record LengthAccuracy
{
    /// <summary>Nothing is known of such errors.</summary>
    public static LengthAccuracy Unstated { get; } = new();

    /// <summary>Standard uncertainty of an offset that all amplitudes may have in common, in mm; not negative, default 0.</summary>
    public double OffsetUncertaintyMm { get; init; }

    /// <summary>Relative standard uncertainty of a length by the pixel scale, from the scatter of the marks; null when not known.</summary>
    public double? ScaleRelativeUncertainty { get; init; }

    /// <summary>Degrees of freedom of <see cref="ScaleRelativeUncertainty"/>. Default infinite: the marks' scatter was assumed.</summary>
    public double ScaleDegreesOfFreedom { get; init; } = double.PositiveInfinity;

    /// <summary>Accuracy class of the ruler. Default none.</summary>
    public RulerAccuracyClass RulerClass { get; init; }

    /// <summary>What a scale says of the lengths measured by it.</summary>
    /// <param name="scale">The scale.</param>
    /// <param name="rulerClass">The class printed on the ruler.</param>
    /// <param name="offsetUncertaintyMm">Standard uncertainty of the common offset of the amplitudes, in mm.</param>
    public static LengthAccuracy Of(RulerScale scale, RulerAccuracyClass rulerClass, double offsetUncertaintyMm)
    {
        // Half the marked interval, in its middle: where streaks lie.
        double middle = scale.MiddleReadingMm, quarter = (scale.MaxReadingMm - scale.MinReadingMm) / 4;
        LengthUncertainty length = scale.LengthBudget(scale.PointAt(middle - quarter), scale.PointAt(middle + quarter));
        double relative = Math.Abs(length.MarksMm / length.LengthMm);
        return new LengthAccuracy
        {
            OffsetUncertaintyMm = offsetUncertaintyMm,
            ScaleRelativeUncertainty = double.IsFinite(relative) ? relative : null,
            ScaleDegreesOfFreedom = scale.ScatterOrigin == ScatterOrigin.Estimated ? scale.DegreesOfFreedom : double.PositiveInfinity,
            RulerClass = rulerClass,
        };
    }
}
