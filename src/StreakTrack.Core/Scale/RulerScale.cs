using MathNet.Numerics.LinearAlgebra;
using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Scale;

/// <summary>The scale of a ruler in the picture: which reading belongs to which place, and how well that is known. Made by
/// <see cref="RulerScaleFitter"/>.</summary>
/// <remarks>
/// A point is carried to the axis along the ticks (at right angles where their direction is not known); s is its place along the axis, in px
/// from <see cref="AxisOrigin"/>; the reading is X = (A t + B) / (1 + C t) with s = t + Lens (t - s0)^3. Readings beyond the ruler's
/// vanishing point, and beyond the turning point of a lens term, are NaN.
/// </remarks>
public sealed class RulerScale
{
    private readonly RulerMap _map;
    private readonly double _axisU, _axisV;
    private readonly double _varianceFactor;
    private readonly RulerAccuracyClass _accuracyClass;

    internal RulerScale(
        RulerMap map, PicturePoint axisOrigin, (double U, double V) axisDirection, double varianceFactor, RulerScaleOptions options)
    {
        _map = map;
        AxisOrigin = axisOrigin;
        (_axisU, _axisV) = axisDirection;
        _varianceFactor = varianceFactor;
        _accuracyClass = options.AccuracyClass;
        Ticks = options.Ticks;
        double[] coefficients = map.Coefficients();
        (A, B, C, Lens) = (coefficients[0], coefficients[1], coefficients[2], coefficients[3]);
        Matrix<double> jacobian = map.CoefficientJacobian();
        CoefficientCovariance = (jacobian * map.Cofactor * jacobian.Transpose() * varianceFactor).ToArray();
    }

    /// <summary>The map that was chosen or asked for.</summary>
    public RulerModel Model => _map.Model;

    /// <summary>Where s is 0: the centre of the marks, on the axis.</summary>
    public PicturePoint AxisOrigin { get; }

    /// <summary>Unit vector along the axis toward growing readings, in px of the picture.</summary>
    public PicturePoint AxisDirection => new(_axisU, _axisV);

    /// <summary>How the ticks run; null where points are carried to the axis at right angles.</summary>
    public TickDirections? Ticks { get; }

    /// <summary>Coefficient a of the map, in mm/px.</summary>
    public double A { get; }

    /// <summary>Coefficient b of the map, in mm: the reading at <see cref="AxisOrigin"/> (without a lens term).</summary>
    public double B { get; }

    /// <summary>Coefficient c of the map, in 1/px; 0 for a linear map.</summary>
    public double C { get; }

    /// <summary>Coefficient of the lens term, in 1/px^2; 0 without one.</summary>
    public double Lens { get; }

    /// <summary>Covariance of (<see cref="A"/>, <see cref="B"/>, <see cref="C"/>, <see cref="Lens"/>), 4 by 4, in the products of their units;
    /// rows and columns of coefficients that the map lacks are 0.</summary>
    public double[,] CoefficientCovariance { get; }

    /// <summary>Smallest marked reading, in mm.</summary>
    public required double MinReadingMm { get; init; }

    /// <summary>Largest marked reading, in mm.</summary>
    public required double MaxReadingMm { get; init; }

    /// <summary>The reading in the middle of the marked ones, in mm.</summary>
    public double MiddleReadingMm => (MinReadingMm + MaxReadingMm) / 2;

    /// <summary>Millimetres on the ruler for one pixel along its axis, at <see cref="MiddleReadingMm"/>.</summary>
    public double MiddleMillimetresPerPixel => MillimetresPerPixelAt(PointAt(MiddleReadingMm));

    /// <summary>How each mark agrees with the scale, in the order handed in.</summary>
    public required IReadOnlyList<MarkResidual> Residuals { get; init; }

    /// <summary>Root mean square of the marks' residuals along the axis, in px.</summary>
    public required double RmsPx { get; init; }

    /// <summary>Standard deviation of a mark along the axis that went into the uncertainties, in px; where marks state their own uncertainty,
    /// the factor by which these were enlarged (at least 1).</summary>
    public required double MarkScatter { get; init; }

    /// <summary>Where <see cref="MarkScatter"/> comes from.</summary>
    public required ScatterOrigin ScatterOrigin { get; init; }

    /// <summary>Residuals beyond the number of parameters.</summary>
    public required int DegreesOfFreedom { get; init; }

    /// <summary>The maps that were compared; one row when the map was asked for.</summary>
    public required IReadOnlyList<RulerModelScore> Candidates { get; init; }

    /// <summary>Remarks on the marks.</summary>
    public required IReadOnlyList<Finding> Findings { get; init; }

    /// <summary>The reading at a point, in mm; NaN beyond the ruler's vanishing point.</summary>
    public double ReadingMmAt(PicturePoint point) => _map.ReadingAt(PlaceOf(point));

    /// <summary>Standard uncertainty of the reading at a point, in mm: the marks' scatter carried through the fit. Neither the uncertainty of
    /// the point nor the ruler's own error is in it; both readings of one length share most of it, so use <see cref="LengthMm"/> for lengths.</summary>
    public double ReadingUncertaintyMm(PicturePoint point)
    {
        double reading = ReadingMmAt(point);
        return double.IsFinite(reading) ? Math.Sqrt(Variance(ReadingGradient(reading))) : double.NaN;
    }

    /// <summary>Reading at <paramref name="b"/> minus reading at <paramref name="a"/>, in mm, with the standard uncertainty that the scale adds:
    /// the marks' scatter and the ruler's accuracy class.</summary>
    public UncertainValue LengthMm(PicturePoint a, PicturePoint b)
    {
        LengthUncertainty budget = LengthBudget(a, b);
        return new UncertainValue(budget.LengthMm, budget.CombinedMm);
    }

    /// <summary>The length from <paramref name="a"/> to <paramref name="b"/> with the parts of its uncertainty. All NaN when a point lies beyond
    /// the ruler's vanishing point.</summary>
    public LengthUncertainty LengthBudget(PicturePoint a, PicturePoint b)
    {
        double readingA = ReadingMmAt(a), readingB = ReadingMmAt(b), length = readingB - readingA;
        if (!double.IsFinite(length))
            return new LengthUncertainty(double.NaN, double.NaN, double.NaN);
        double[] gradient = ReadingGradient(readingB), other = ReadingGradient(readingA);
        for (int j = 0; j < gradient.Length; j++)
            gradient[j] -= other[j];
        return new LengthUncertainty(length, Math.Sqrt(Variance(gradient)), RulerAccuracy.StandardUncertaintyMm(_accuracyClass, length));
    }

    /// <summary>Change of the reading along the axis's direction at a point, in mm/px; positive, or NaN beyond the vanishing point.</summary>
    public double MillimetresPerPixelAt(PicturePoint point)
    {
        double reading = ReadingMmAt(point);
        if (!double.IsFinite(reading))
            return double.NaN;
        double carried = 1;
        if (Ticks is { } ticks)
        {
            // Off the axis, lines that meet in a point make the piece between two ticks shorter or longer.
            (_, double across) = ToAxis(point.UPx - AxisOrigin.UPx, point.VPx - AxisOrigin.VPx);
            (_, double meetAcross, double w) = MeetingInAxisFrame(ticks);
            carried = meetAcross / (meetAcross - w * across);
        }

        return carried / _map.PixelsPerMillimetre(reading);
    }

    /// <summary>The point of the axis that has a reading; NaN beyond the vanishing point.</summary>
    public PicturePoint PointAt(double readingMm)
    {
        double s = _map.PlaceOf(readingMm);
        return new PicturePoint(AxisOrigin.UPx + s * _axisU, AxisOrigin.VPx + s * _axisV);
    }

    /// <summary>Standard uncertainty of <see cref="PointAt"/> along the axis, in px.</summary>
    public double PlaceUncertaintyPx(double readingMm) => Math.Sqrt(Variance(_map.PlaceGradient(readingMm)));

    /// <summary>Direction of the tick through a point, as a unit vector in px: as known, or at right angles to the axis.</summary>
    public (double DU, double DV) TickDirectionAt(PicturePoint point) => Ticks?.At(point) ?? (-_axisV, _axisU);

    /// <summary>Place of a point along the axis, in px from <see cref="AxisOrigin"/>, after it was carried to the axis.</summary>
    public double PlaceOf(PicturePoint point)
    {
        (double along, double across) = ToAxis(point.UPx - AxisOrigin.UPx, point.VPx - AxisOrigin.VPx);
        if (Ticks is not { } ticks)
            return along;
        (double meetAlong, double meetAcross, double w) = MeetingInAxisFrame(ticks);
        return along - across * (meetAlong - w * along) / (meetAcross - w * across);
    }

    private (double Along, double Across) ToAxis(double du, double dv) => (du * _axisU + dv * _axisV, dv * _axisU - du * _axisV);

    private (double Along, double Across, double W) MeetingInAxisFrame(TickDirections ticks)
    {
        (double along, double across) = ToAxis(ticks.U - ticks.W * AxisOrigin.UPx, ticks.V - ticks.W * AxisOrigin.VPx);
        return (along, across, ticks.W);
    }

    // From s = f(X; q): dX = -(df/dq . dq) / (df/dX) at a fixed place.
    private double[] ReadingGradient(double readingMm)
    {
        double[] gradient = _map.PlaceGradient(readingMm);
        double slope = _map.PixelsPerMillimetre(readingMm);
        for (int j = 0; j < gradient.Length; j++)
            gradient[j] /= -slope;
        return gradient;
    }

    private double Variance(double[] gradient)
    {
        double sum = 0;
        for (int j = 0; j < gradient.Length; j++)
        {
            for (int k = 0; k < gradient.Length; k++)
                sum += gradient[j] * gradient[k] * _map.Cofactor[j, k];
        }

        return Math.Max(0, sum * _varianceFactor);
    }
}
