namespace StreakTrack.Core.Scale;

/// <summary>Maximum permissible error of a ruler of a stated class.</summary>
/// <remarks>Directive 2014/32/EU, annex X (MI-008), chapter I: (a + b L) mm between two marks that are not neighbours, L the length
/// rounded up to the next whole metre; valid at 20 °C. Between neighbouring marks the limits are tighter, so that nothing is
/// understated when the formula is used for short lengths too.</remarks>
public static class RulerAccuracy
{
    /// <summary>Maximum permissible error of a length, in mm.</summary>
    /// <param name="accuracyClass">The class marked on the ruler.</param>
    /// <param name="lengthMm">The length, in mm; its sign does not matter.</param>
    /// <returns>0 for <see cref="RulerAccuracyClass.None"/>.</returns>
    /// <exception cref="ArgumentOutOfRangeException"><paramref name="lengthMm"/> is not finite.</exception>
    public static double MaximumPermissibleErrorMm(RulerAccuracyClass accuracyClass, double lengthMm)
    {
        if (!double.IsFinite(lengthMm))
            throw new ArgumentOutOfRangeException(nameof(lengthMm), lengthMm, "The length must be finite.");
        (double a, double b) = accuracyClass switch
        {
            RulerAccuracyClass.None => (0.0, 0.0),
            RulerAccuracyClass.I => (0.1, 0.1),
            RulerAccuracyClass.II => (0.3, 0.2),
            RulerAccuracyClass.III => (0.6, 0.4),
            _ => throw new ArgumentOutOfRangeException(nameof(accuracyClass), accuracyClass, "Unknown accuracy class."),
        };
        double wholeMetres = Math.Max(1, Math.Ceiling(Math.Abs(lengthMm) / 1000));
        return a + b * wholeMetres;
    }

    /// <summary>Standard uncertainty of a length from the ruler's own error, in mm: the permissible error as the half-width of a rectangular
    /// distribution (JCGM 100:2008, 4.3.7).</summary>
    /// <inheritdoc cref="MaximumPermissibleErrorMm"/>
    public static double StandardUncertaintyMm(RulerAccuracyClass accuracyClass, double lengthMm) =>
        MaximumPermissibleErrorMm(accuracyClass, lengthMm) / Math.Sqrt(3);
}
