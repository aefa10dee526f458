namespace StreakTrack.Core.Oscillator;

/// <summary>
/// The optical lever: converts lengths on the ruler to angles of the mirror. The beam turns by twice the mirror's angle.
/// </summary>
/// <remarks>
/// Geometry, seen along the mirror's axis of rotation: the resting beam meets the ruler at its foot, at the distance
/// <c>L cos i</c> from the mirror, and the ruler is turned by the tilt <c>a</c> out of the position square to the beam. A beam that
/// is deflected by <c>p = 2 theta</c> meets the ruler at <c>x = L cos i · sin p / cos(p + a)</c> from the foot; square ruler and beam in
/// the plane of rotation: <c>x = L tan 2 theta</c>. The mirror's normal is taken as perpendicular to the axis. An angle of
/// incidence within the plane of rotation changes nothing: there the beam turns by exactly twice the mirror's angle.
/// </remarks>
public sealed class OpticalLever
{
    /// <summary>Largest tilt or incidence accepted, in rad (80°): beyond it the geometry is surely a mistake in units.</summary>
    private const double MaxAngleRad = 80 * Math.PI / 180;

    private readonly double _planeDistanceMm;
    private readonly double _sinTilt;
    private readonly double _cosTilt;

    /// <summary>Describes a lever.</summary>
    /// <param name="distanceMm">Distance from the mirror to the ruler along the resting beam, in mm, positive.</param>
    /// <param name="incidenceRad">
    /// Angle between the beam and the plane perpendicular to the axis of rotation, in rad, within ±80°: the part of the angle of
    /// incidence that tips along the axis. Default 0.
    /// </param>
    /// <param name="rulerTiltRad">
    /// Turn of the ruler out of the position square to the resting beam, in rad, within ±80°; positive when larger readings are farther
    /// from the mirror. Default 0.
    /// </param>
    /// <exception cref="ArgumentOutOfRangeException">A value is outside its range, or an uncertainty is negative.</exception>
    public OpticalLever(UncertainValue distanceMm, UncertainValue incidenceRad = default, UncertainValue rulerTiltRad = default)
    {
        if (!(distanceMm.Value > 0 && double.IsFinite(distanceMm.Value)))
            throw new ArgumentOutOfRangeException(nameof(distanceMm), distanceMm.Value, "The distance must be positive and finite.");
        if (!(Math.Abs(incidenceRad.Value) <= MaxAngleRad))
            throw new ArgumentOutOfRangeException(nameof(incidenceRad), incidenceRad.Value, "The incidence must lie within 80 degrees.");
        if (!(Math.Abs(rulerTiltRad.Value) <= MaxAngleRad))
            throw new ArgumentOutOfRangeException(nameof(rulerTiltRad), rulerTiltRad.Value, "The tilt must lie within 80 degrees.");
        RefuseNegative(distanceMm, nameof(distanceMm));
        RefuseNegative(incidenceRad, nameof(incidenceRad));
        RefuseNegative(rulerTiltRad, nameof(rulerTiltRad));

        DistanceMm = distanceMm;
        IncidenceRad = incidenceRad;
        RulerTiltRad = rulerTiltRad;
        _planeDistanceMm = distanceMm.Value * Math.Cos(incidenceRad.Value);
        (_sinTilt, _cosTilt) = Math.SinCos(rulerTiltRad.Value);
    }

    /// <summary>Distance from the mirror to the ruler along the resting beam, in mm.</summary>
    public UncertainValue DistanceMm { get; }

    /// <summary>Angle between the beam and the plane perpendicular to the axis, in rad.</summary>
    public UncertainValue IncidenceRad { get; }

    /// <summary>Turn of the ruler out of the position square to the resting beam, in rad.</summary>
    public UncertainValue RulerTiltRad { get; }

    /// <summary>The mirror's angle for a spot at a place on the ruler.</summary>
    /// <param name="offsetMm">Place of the spot, in mm from where the resting beam meets the ruler; NaN gives NaN.</param>
    /// <returns>The angle, in mrad, of the sign of <paramref name="offsetMm"/>.</returns>
    public double MirrorAngleMrad(double offsetMm) =>
        500 * Math.Atan2(offsetMm * _cosTilt, _planeDistanceMm + (offsetMm * _sinTilt));

    /// <summary>Where the spot falls on the ruler for an angle of the mirror.</summary>
    /// <param name="mirrorAngleMrad">The angle from rest, in mrad.</param>
    /// <returns>Distance from where the resting beam meets the ruler, in mm; NaN where the beam misses the ruler's line.</returns>
    public double OffsetMm(double mirrorAngleMrad)
    {
        double beam = mirrorAngleMrad / 500;
        // Atan2's domain: a beam parallel to the ruler or turned away from it never meets it.
        double facing = (Math.Cos(beam) * _cosTilt) - (Math.Sin(beam) * _sinTilt);
        return Math.Abs(beam) < Math.PI && facing > 0 ? _planeDistanceMm * Math.Sin(beam) / facing : double.NaN;
    }

    /// <summary>
    /// Amplitude of the mirror's angle from the amplitude on the ruler, for a swing that is symmetric in angle. On a tilted ruler the two
    /// halves of such a streak differ in length; half the whole streak is what counts here.
    /// </summary>
    /// <param name="amplitudeMm">Half the distance between the turning points on the ruler, in mm; NaN gives NaN.</param>
    /// <returns>The amplitude of the mirror's angle, in mrad.</returns>
    public double AmplitudeMradFromMm(double amplitudeMm) => 500 * Math.Atan(TanBeam(amplitudeMm));

    /// <summary>Amplitude on the ruler from the amplitude of the mirror's angle; the inverse of <see cref="AmplitudeMradFromMm"/>.</summary>
    /// <param name="amplitudeMrad">The amplitude of the mirror's angle, in mrad.</param>
    /// <returns>Half the distance between the turning points, in mm; NaN where a turning point misses the ruler's line.</returns>
    public double AmplitudeMmFromMrad(double amplitudeMrad) => (OffsetMm(amplitudeMrad) - OffsetMm(-amplitudeMrad)) / 2;

    /// <summary>
    /// Amplitude of the mirror's angle from the two turning points, without assuming that the swing is symmetric about the resting beam.
    /// </summary>
    /// <param name="leftOffsetMm">One turning point, in mm from where the resting beam meets the ruler.</param>
    /// <param name="rightOffsetMm">The other turning point, same.</param>
    /// <returns>Half the angle between them at the mirror, in mrad, not negative.</returns>
    public double AmplitudeMradFromEnds(double leftOffsetMm, double rightOffsetMm) =>
        Math.Abs(MirrorAngleMrad(rightOffsetMm) - MirrorAngleMrad(leftOffsetMm)) / 2;

    /// <summary>How the amplitude at the mirror answers to each input, for the uncertainty budget.</summary>
    /// <param name="amplitudeMm">Half the distance between the turning points on the ruler, in mm.</param>
    public LeverSensitivities Sensitivities(double amplitudeMm)
    {
        // With D = L cos i, t = tan 2 theta and the tilt a: F = A (cos^2 a - t^2 sin^2 a) - D t cos a = 0 ties the amplitude A to t.
        double t = TanBeam(amplitudeMm);
        double sin2 = _sinTilt * _sinTilt;
        double cos2 = _cosTilt * _cosTilt;
        double byT = -((2 * amplitudeMm * t * sin2) + (_planeDistanceMm * _cosTilt));
        double byAmplitude = cos2 - (t * t * sin2);
        double byPlaneDistance = -t * _cosTilt;
        double byTilt = (-2 * amplitudeMm * _sinTilt * _cosTilt * (1 + (t * t))) + (_planeDistanceMm * t * _sinTilt);
        double mradPerT = 500 / (1 + (t * t));
        return new LeverSensitivities(
            -mradPerT * byAmplitude / byT,
            -mradPerT * byPlaneDistance / byT * Math.Cos(IncidenceRad.Value),
            mradPerT * byPlaneDistance / byT * DistanceMm.Value * Math.Sin(IncidenceRad.Value),
            -mradPerT * byTilt / byT);
    }

    /// <summary>
    /// Amplitude at the mirror with its standard uncertainty: that of the amplitude on the ruler and those of distance, incidence and tilt,
    /// taken as independent and propagated to first order.
    /// </summary>
    /// <param name="amplitudeMm">The amplitude on the ruler, in mm.</param>
    /// <returns>The amplitude of the mirror's angle, in mrad.</returns>
    public UncertainValue AmplitudeMrad(UncertainValue amplitudeMm)
    {
        LeverSensitivities by = Sensitivities(amplitudeMm.Value);
        double variance = Square(by.MradPerMm * amplitudeMm.StandardUncertainty)
            + Square(by.MradPerDistanceMm * DistanceMm.StandardUncertainty)
            + Square(by.MradPerIncidenceRad * IncidenceRad.StandardUncertainty)
            + Square(by.MradPerTiltRad * RulerTiltRad.StandardUncertainty);
        return new UncertainValue(AmplitudeMradFromMm(amplitudeMm.Value), Math.Sqrt(variance));
    }

    /// <summary>Tangent of the beam's amplitude 2 theta for an amplitude on the ruler.</summary>
    private double TanBeam(double amplitudeMm)
    {
        // Root of A sin^2 a t^2 + D cos a t - A cos^2 a = 0 that goes to A/D as the tilt a goes to 0; in this form nothing cancels.
        double cross = 2 * amplitudeMm * _sinTilt;
        return 2 * amplitudeMm * _cosTilt / (_planeDistanceMm + Math.Sqrt((_planeDistanceMm * _planeDistanceMm) + (cross * cross)));
    }

    private static double Square(double x) => x * x;

    private static void RefuseNegative(UncertainValue value, string name)
    {
        if (value.StandardUncertainty < 0)
            throw new ArgumentOutOfRangeException(name, value.StandardUncertainty, "A standard uncertainty cannot be negative.");
    }
}
