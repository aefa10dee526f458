using System.Numerics;
using StreakTrack.Synthesis.Motion;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>Adds the light of the moving spots to a frame: for each row, the time the beam spends at each place of the ruler during that
/// row's exposure, spread by the spot, times what the surface sends back.</summary>
/// <remarks>
/// Blur by the camera is part of the spot's width, while the print under it is blurred on its own; the product of the two blurred
/// pictures stands for the blurred product, which holds for a spot much wider than the camera's blur. The halo is computed with the
/// exposure of the row of the resting spot.
/// </remarks>
internal sealed class StreakPainter
{
    /// <summary>Fine places per standard deviation of the spot; linear interpolation between them errs by 5e-4 of the peak.</summary>
    private const int PlacesPerSigma = 16;

    /// <summary>Where a spot ends, in standard deviations: 4e-6 of its peak.</summary>
    private const double Reach = 5;

    private readonly ClipScenario _scenario;
    private readonly CameraGeometry _geometry;
    private readonly BeamPath _path;
    private readonly Spot[] _spots;
    private readonly double[] _tint;
    private readonly double _restRow;

    public StreakPainter(ClipScenario scenario, CameraGeometry geometry, BeamPath path, double[] laserTint)
    {
        _scenario = scenario;
        _geometry = geometry;
        _path = path;
        _tint = laserTint;
        LaserSettings laser = scenario.Laser;
        CameraSettings camera = scenario.Camera;
        double rest = scenario.Lever.RestReadingMm;
        _restRow = geometry.ToPicture(rest, laser.DistanceFromEdgeMm).VPx;

        // The lens's blur, and the variance of a pixel's own width.
        double blur = Math.Sqrt(camera.PsfSigmaPx * camera.PsfSigmaPx + 1.0 / 12) / camera.PxPerMm;
        double along = Hypotenuse(laser.SigmaAlongMm, blur), across = Hypotenuse(laser.SigmaAcrossMm, blur);
        double exposure = camera.ExposureSeconds ?? 1 / camera.FramesPerSecond;
        double amplitude = laser.LevelAmplitudeMm ?? Math.Max(scenario.Motion.LargestAmplitudeMm, laser.SigmaAlongMm);

        // A full streak has the density 1/(pi A) in its middle, and a Gaussian the peak 1/(sqrt(2 pi) sigma) across.
        double flux = laser.Level * Math.PI * amplitude * Math.Sqrt(2 * Math.PI) * laser.SigmaAcrossMm / exposure;
        double haloFlux = flux * camera.HaloShare, halo = camera.HaloSigmaPx / camera.PxPerMm;
        var spots = new List<Spot> { new(rest, laser.DistanceFromEdgeMm, 1, along, across, flux - haloFlux, false) };
        if (haloFlux > 0)
        {
            double level = scenario.Ruler.Kind == RulerKind.Card ? 1 : 0.8;
            spots.Add(new(rest, laser.DistanceFromEdgeMm, 1, Hypotenuse(along, halo), Hypotenuse(across, halo), haloFlux * level, true));
        }

        if (laser.SecondReflection is { } second)
        {
            spots.Add(new(rest + second.OffsetAlongMm, laser.DistanceFromEdgeMm + second.OffsetAcrossMm, second.RelativeAmplitude,
                along, across, flux * second.RelativeLevel, false));
        }

        _spots = [.. spots];
    }

    /// <summary>Adds the laser light to a picture that has moved by the frame's shift.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="reflectance">Share of laser light that each pixel of the moved picture sends back.</param>
    /// <param name="picture">Where the light is added.</param>
    public void Add(in FrameExposure frame, float[] reflectance, LinearPicture picture)
    {
        double blur = DefocusPx(frame.TimeSeconds) / _scenario.Camera.PxPerMm;
        foreach (Spot spot in _spots)
        {
            Spot seen = blur == 0 ? spot : spot with
            {
                SigmaAlongMm = Hypotenuse(spot.SigmaAlongMm, blur), SigmaAcrossMm = Hypotenuse(spot.SigmaAcrossMm, blur),
            };
            AddSpot(seen, frame, reflectance, picture);
        }
    }

    private double DefocusPx(double timeSeconds)
    {
        IReadOnlyList<FocusPoint> points = _scenario.Camera.FocusPoints;
        for (int i = 0; i < points.Count; i++)
        {
            if (timeSeconds >= points[i].TimeSeconds)
                continue;
            if (i == 0)
                return points[0].BlurSigmaPx;
            double share = (timeSeconds - points[i - 1].TimeSeconds) / (points[i].TimeSeconds - points[i - 1].TimeSeconds);
            return points[i - 1].BlurSigmaPx + (share * (points[i].BlurSigmaPx - points[i - 1].BlurSigmaPx));
        }

        return points.Count == 0 ? 0 : points[^1].BlurSigmaPx;
    }

    private static double Hypotenuse(double a, double b) => Math.Sqrt(a * a + b * b);

    private void AddSpot(Spot spot, in FrameExposure frame, float[] reflectance, LinearPicture picture)
    {
        double rowTime = spot.MadeByLens ? 0 : _scenario.Camera.RowTimeSeconds;
        double start = frame.TimeSeconds + (spot.MadeByLens ? _restRow * _scenario.Camera.RowTimeSeconds : 0);
        var dwell = new DwellPath(spot, _path, _scenario, start, start + frame.ExposureSeconds + rowTime * picture.Height);
        (int top, int bottom) = Rows(spot, dwell, frame, picture);
        float[] profile = [];
        for (int v = top; v <= bottom; v++)
        {
            if (!Columns(spot, dwell, frame, picture.Width, v, out int left, out int right))
                continue;

            if (rowTime > 0 || profile.Length == 0)
                profile = dwell.Profile(start + v * rowTime, frame.ExposureSeconds);

            AddRow(spot, dwell, profile, frame, reflectance, picture, v, left, right);
        }
    }

    /// <summary>Rows that the spot can reach.</summary>
    private (int Top, int Bottom) Rows(Spot spot, DwellPath dwell, in FrameExposure frame, LinearPicture picture)
    {
        double least = double.MaxValue, most = double.MinValue;
        foreach ((double x, double y) in Corners(spot, dwell))
        {
            double v = _geometry.ToPicture(x, y).VPx + frame.ShiftVPx;
            least = Math.Min(least, v);
            most = Math.Max(most, v);
        }

        // A lens bends straight edges; a few rows more cover that.
        double margin = 1 + 2 * Math.Abs(_scenario.Camera.LensDistortion) * picture.Height;
        return ((int)Math.Max(0, Math.Floor(least - margin)), (int)Math.Min(picture.Height - 1, Math.Ceiling(most + margin)));
    }

    /// <summary>Columns of a row that the spot can reach: between the streak's long and short sides.</summary>
    private bool Columns(Spot spot, DwellPath dwell, in FrameExposure frame, int width, int v, out int left, out int right)
    {
        double row = v - frame.ShiftVPx, least = double.MaxValue, most = double.MinValue;
        (double X, double Y)[] corners = Corners(spot, dwell);
        double margin = 2 + 2 * Math.Abs(_scenario.Camera.LensDistortion) * width;
        for (int i = 0; i < 4; i++)
        {
            (double u0, double v0) = _geometry.ToPicture(corners[i].X, corners[i].Y);
            (double u1, double v1) = _geometry.ToPicture(corners[(i + 1) % 4].X, corners[(i + 1) % 4].Y);
            if (Math.Max(v0, v1) < row - margin || Math.Min(v0, v1) > row + margin)
                continue;

            // The part of this side within the margin of the row.
            double rise = v1 - v0;
            double a = rise == 0 ? 0 : Math.Clamp((row - margin - v0) / rise, 0, 1);
            double b = rise == 0 ? 1 : Math.Clamp((row + margin - v0) / rise, 0, 1);
            least = Math.Min(least, Math.Min(u0 + a * (u1 - u0), u0 + b * (u1 - u0)));
            most = Math.Max(most, Math.Max(u0 + a * (u1 - u0), u0 + b * (u1 - u0)));
        }

        left = (int)Math.Max(0, Math.Floor(least + frame.ShiftUPx - margin));
        right = (int)Math.Min(width - 1, Math.Ceiling(most + frame.ShiftUPx + margin));
        return least <= most && left <= right;
    }

    private static (double X, double Y)[] Corners(Spot spot, DwellPath dwell)
    {
        double across = Reach * spot.SigmaAcrossMm;
        return
        [
            (dwell.FirstMm, spot.YMm - across), (dwell.LastMm, spot.YMm - across),
            (dwell.LastMm, spot.YMm + across), (dwell.FirstMm, spot.YMm + across),
        ];
    }

    private void AddRow(
        Spot spot, DwellPath dwell, float[] profile, in FrameExposure frame, float[] reflectance, LinearPicture picture, int v, int left,
        int right)
    {
        double perPlace = 1 / dwell.PlaceMm, acrossFactor = -0.5 / (spot.SigmaAcrossMm * spot.SigmaAcrossMm);
        double peak = frame.Gain * spot.Flux / (Math.Sqrt(2 * Math.PI) * spot.SigmaAcrossMm);
        float red = (float)_tint[0], green = (float)_tint[1], blue = (float)_tint[2];
        int first = v * picture.Width;
        for (int u = left; u <= right; u++)
        {
            (double x, double y) = _geometry.ToRulerMm(u - frame.ShiftUPx, v - frame.ShiftVPx);
            double place = (x - dwell.FirstMm) * perPlace;
            int i = (int)place;
            if (!(place >= 0) || i >= profile.Length - 1)
                continue;

            double dy = y - spot.YMm;
            double exponent = acrossFactor * dy * dy;
            if (exponent < -0.5 * Reach * Reach)
                continue;

            double along = profile[i] + (place - i) * (profile[i + 1] - profile[i]);
            float light = (float)(peak * along * Math.Exp(exponent));
            if (!spot.MadeByLens)
                light *= reflectance[first + u];
            picture.Red[first + u] += red * light;
            picture.Green[first + u] += green * light;
            picture.Blue[first + u] += blue * light;
        }
    }

    /// <summary>Where one spot is during one frame, in fine steps of time, and how long it dwells at each place.</summary>
    private sealed class DwellPath
    {
        private readonly double _startSeconds, _stepSeconds;
        private readonly float[] _kernel;
        private readonly double[] _places;
        private readonly StrobeSettings? _strobe;

        public DwellPath(Spot spot, BeamPath path, ClipScenario scenario, double startSeconds, double endSeconds)
        {
            double rest = scenario.Lever.RestReadingMm;
            double speed = 2 * Math.PI * scenario.Motion.FrequencyHz * Math.Max(0.1, spot.RelativeAmplitude)
                * Math.Max(scenario.Motion.LargestAmplitudeMm, 1e-3);
            int steps = Math.Max(64, (int)Math.Ceiling((endSeconds - startSeconds) * speed / (0.3 * spot.SigmaAlongMm)));
            _startSeconds = startSeconds;
            _stepSeconds = (endSeconds - startSeconds) / steps;
            _strobe = scenario.Laser.Strobe;

            _places = new double[steps];
            double least = double.MaxValue, most = double.MinValue;
            for (int i = 0; i < steps; i++)
            {
                double x = spot.RestXMm + spot.RelativeAmplitude * (path.ReadingMm(startSeconds + (i + 0.5) * _stepSeconds) - rest);
                _places[i] = x;
                least = Math.Min(least, x);
                most = Math.Max(most, x);
            }

            PlaceMm = spot.SigmaAlongMm / PlacesPerSigma;
            FirstMm = least - (Reach + 0.5) * spot.SigmaAlongMm;
            LastMm = most + (Reach + 0.5) * spot.SigmaAlongMm;
            for (int i = 0; i < steps; i++)
                _places[i] = (_places[i] - FirstMm) / PlaceMm;

            // Sharing each step's time between two places spreads it by a sixth of a place squared on average, which the kernel leaves out.
            double sigma = Math.Sqrt(PlacesPerSigma * PlacesPerSigma - 1.0 / 6);
            int reach = (int)(Reach * PlacesPerSigma);
            _kernel = new float[2 * reach + 1];
            for (int k = -reach; k <= reach; k++)
                _kernel[k + reach] = (float)(Math.Exp(-0.5 * k * k / (sigma * sigma)) / (Math.Sqrt(2 * Math.PI) * sigma * PlaceMm));
        }

        public double FirstMm { get; }

        public double LastMm { get; }

        public double PlaceMm { get; }

        /// <summary>Time spent at each place during an exposure, spread by the spot, in s/mm; places are <see cref="PlaceMm"/>
        /// apart.</summary>
        public float[] Profile(double fromSeconds, double exposureSeconds)
        {
            int places = (int)Math.Ceiling((LastMm - FirstMm) / PlaceMm) + 2;
            var time = new float[places];
            double from = (fromSeconds - _startSeconds) / _stepSeconds, to = from + exposureSeconds / _stepSeconds;
            int first = Math.Max(0, (int)Math.Floor(from)), last = Math.Min(_places.Length - 1, (int)Math.Ceiling(to) - 1);
            for (int i = first; i <= last; i++)
            {
                double lit = LitSeconds(Math.Max(i, from), Math.Min(i + 1, to));
                int place = (int)_places[i];
                double part = _places[i] - place;
                time[place] += (float)(lit * (1 - part));
                time[place + 1] += (float)(lit * part);
            }

            return Convolve(time);
        }

        private double LitSeconds(double fromStep, double toStep)
        {
            return _strobe is null
                ? (toStep - fromStep) * _stepSeconds
                : _strobe.OnTime(_startSeconds + toStep * _stepSeconds) - _strobe.OnTime(_startSeconds + fromStep * _stepSeconds);
        }

        private float[] Convolve(float[] time)
        {
            var result = new float[time.Length];
            int reach = _kernel.Length / 2;
            for (int i = 0; i < time.Length; i++)
            {
                if (time[i] == 0)
                    continue;

                int begin = Math.Max(0, i - reach), end = Math.Min(time.Length, i + reach + 1);
                ReadOnlySpan<float> kernel = _kernel.AsSpan(begin - i + reach, end - begin);
                Span<float> target = result.AsSpan(begin, end - begin);
                var factor = new Vector<float>(time[i]);
                int k = 0;
                for (; k <= target.Length - Vector<float>.Count; k += Vector<float>.Count)
                    (new Vector<float>(target[k..]) + factor * new Vector<float>(kernel[k..])).CopyTo(target[k..]);
                for (; k < target.Length; k++)
                    target[k] += time[i] * kernel[k];
            }

            return result;
        }
    }
}
