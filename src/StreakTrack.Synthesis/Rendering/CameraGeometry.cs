using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>A pinhole camera with a radial lens term before the plane of the ruler. Pixels are those of the stored picture, the centre of
/// the top left one at (0, 0).</summary>
public sealed class CameraGeometry
{
    private readonly double _middleU, _middleV, _halfDiagonal, _distortion;
    private readonly double _focalPx, _distanceMm, _aimX, _aimY;
    private readonly double[] _toPicture;
    private readonly double[] _toRuler;

    /// <summary>The geometry of a scenario.</summary>
    /// <exception cref="ArgumentException">The ruler's plane passes through the camera somewhere in the picture.</exception>
    public CameraGeometry(ClipScenario scenario)
    {
        CameraSettings camera = scenario.Camera;
        _middleU = (camera.WidthPx - 1) / 2.0;
        _middleV = (camera.HeightPx - 1) / 2.0;
        _halfDiagonal = Math.Sqrt((double)camera.WidthPx * camera.WidthPx + (double)camera.HeightPx * camera.HeightPx) / 2;
        _distortion = camera.LensDistortion;
        _focalPx = camera.WidthPx / 2.0 / Math.Tan(camera.ViewAngleDegrees * Math.PI / 360);
        _distanceMm = _focalPx / camera.PxPerMm;
        _aimX = camera.AimReadingMm ?? scenario.Lever.RestReadingMm;
        _aimY = camera.AimFromEdgeMm;

        (double sy, double cy) = Math.SinCos(camera.YawDegrees * Math.PI / 180);
        (double sp, double cp) = Math.SinCos(camera.PitchDegrees * Math.PI / 180);
        (double sr, double cr) = Math.SinCos(camera.RollDegrees * Math.PI / 180);

        // Columns of the rotation roll * pitch * yaw for the plane's two axes; the third axis is not needed on a plane.
        double ax = cy, ay = sp * sy, az = cp * sy;
        double bx = 0, by = cp, bz = -sp;
        _toPicture =
        [
            cr * ax - sr * ay, cr * bx - sr * by, 0,
            sr * ax + cr * ay, sr * bx + cr * by, 0,
            az / _distanceMm, bz / _distanceMm, 1,
        ];
        _toRuler = Inverse(_toPicture);

        foreach ((double u, double v) in new[] { (0.0, 0.0), (2 * _middleU, 0.0), (0.0, 2 * _middleV), (2 * _middleU, 2 * _middleV) })
        {
            (double x, double y) = ToRulerMm(u, v);
            double depth = 1 + _toPicture[6] * (x - _aimX) + _toPicture[7] * (y - _aimY);
            if (!(depth > 0.05))
                throw new ArgumentException("The camera looks along the ruler's plane; use smaller angles or a smaller angle of view.");
        }
    }

    /// <summary>Where a point of the ruler's plane is seen, in px, in a picture that has not moved.</summary>
    public (double UPx, double VPx) ToPicture(double xMm, double yMm)
    {
        double x = xMm - _aimX, y = yMm - _aimY;
        double depth = _toPicture[6] * x + _toPicture[7] * y + 1;
        double scale = _focalPx / _distanceMm / depth;
        double du = (_toPicture[0] * x + _toPicture[1] * y) * scale, dv = (_toPicture[3] * x + _toPicture[4] * y) * scale;
        double stretch = 1 + _distortion * (du * du + dv * dv) / (_halfDiagonal * _halfDiagonal);
        return (_middleU + du * stretch, _middleV + dv * stretch);
    }

    /// <summary>The point of the ruler's plane that a pixel sees, in mm, in a picture that has not moved.</summary>
    public (double XMm, double YMm) ToRulerMm(double uPx, double vPx)
    {
        double du = uPx - _middleU, dv = vPx - _middleV;
        if (_distortion != 0)
        {
            double squared = (du * du + dv * dv) / (_halfDiagonal * _halfDiagonal);
            double r = Math.Sqrt(squared), ideal = r;
            for (int i = 0; i < 6; i++)
                ideal -= (ideal * (1 + _distortion * ideal * ideal) - r) / (1 + 3 * _distortion * ideal * ideal);
            double stretch = r > 0 ? ideal / r : 1;
            du *= stretch;
            dv *= stretch;
        }

        double a = du * _distanceMm / _focalPx, b = dv * _distanceMm / _focalPx;
        double w = _toRuler[6] * a + _toRuler[7] * b + _toRuler[8];
        return (
            _aimX + (_toRuler[0] * a + _toRuler[1] * b + _toRuler[2]) / w,
            _aimY + (_toRuler[3] * a + _toRuler[4] * b + _toRuler[5]) / w);
    }

    private static double[] Inverse(double[] m)
    {
        double c0 = m[4] * m[8] - m[5] * m[7], c1 = m[5] * m[6] - m[3] * m[8], c2 = m[3] * m[7] - m[4] * m[6];
        double determinant = m[0] * c0 + m[1] * c1 + m[2] * c2;
        return
        [
            c0 / determinant, (m[2] * m[7] - m[1] * m[8]) / determinant, (m[1] * m[5] - m[2] * m[4]) / determinant,
            c1 / determinant, (m[0] * m[8] - m[2] * m[6]) / determinant, (m[2] * m[3] - m[0] * m[5]) / determinant,
            c2 / determinant, (m[1] * m[6] - m[0] * m[7]) / determinant, (m[0] * m[4] - m[1] * m[3]) / determinant,
        ];
    }
}
