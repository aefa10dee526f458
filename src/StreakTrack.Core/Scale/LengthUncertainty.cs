namespace StreakTrack.Core.Scale;

/// <summary>A length on the ruler and the parts of its standard uncertainty that come from the scale, all in mm. The uncertainty of the two
/// points themselves is not in it.</summary>
/// <param name="LengthMm">Reading at the second point minus reading at the first.</param>
/// <param name="MarksMm">Part of the marks' scatter, carried through the fit.</param>
/// <param name="RulerMm">Part of the ruler's own permissible error, from its accuracy class; 0 without a class.</param>
public sealed record LengthUncertainty(double LengthMm, double MarksMm, double RulerMm)
{
    /// <summary>Both parts combined (JCGM 100:2008, 5.1.2).</summary>
    public double CombinedMm => Math.Sqrt(MarksMm * MarksMm + RulerMm * RulerMm);
}
