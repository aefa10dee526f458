using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Motion;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>Makes the frames of a scenario. Any frame can be asked for at any time and from any thread; it is always the same.</summary>
public sealed class ClipRenderer
{
    private readonly StaticScene _scene;
    private readonly StreakPainter _painter;
    private readonly Passer? _passer;
    private readonly SensorNoise _noise;
    private readonly FrameExposure[] _frames;
    private readonly double _firstExposure;

    /// <summary>Prepares a scenario: paints what stands still, and draws what is random over the clip.</summary>
    /// <param name="scenario">The scenario.</param>
    /// <exception cref="ArgumentException">Its parts do not go together: an exposure longer than a frame, a view along the
    /// ruler.</exception>
    public ClipRenderer(ClipScenario scenario)
    {
        Scenario = scenario;
        CameraSettings camera = scenario.Camera;
        Geometry = new CameraGeometry(scenario);
        Path = new BeamPath(scenario.Motion, scenario.Lever);
        Orientation = Rotated(camera);
        _frames = FrameSchedule.Of(scenario);
        _firstExposure = camera.ExposureSeconds ?? 1 / camera.FramesPerSecond;

        // Sensor response to the beam in red, green, blue: the colour filters let a little of the wrong light through.
        double[] tint = scenario.Laser.Colour == LaserColour.Red ? [1, 0.05, 0.02] : [0.08, 1, 0.1];
        _scene = new StaticScene(scenario, Geometry, tint);
        _painter = new StreakPainter(scenario, Geometry, Path, tint);
        _passer = scenario.Scene.Passer is { } passer ? new Passer(passer, scenario) : null;
        _noise = new SensorNoise(scenario);
    }

    /// <summary>The scenario.</summary>
    public ClipScenario Scenario { get; }

    /// <summary>The frames, in the order of their times.</summary>
    public IReadOnlyList<FrameExposure> Frames => _frames;

    /// <summary>Where points of the ruler are seen in the stored picture.</summary>
    public CameraGeometry Geometry { get; }

    /// <summary>Where the beam is at any time.</summary>
    public BeamPath Path { get; }

    /// <summary>How the stored picture is turned for display.</summary>
    public DisplayOrientation Orientation { get; }

    /// <summary>Bytes of one frame: 3 a pixel.</summary>
    public int FrameBytes => Scenario.Camera.WidthPx * Scenario.Camera.HeightPx * 3;

    /// <summary>One frame as the camera codes it.</summary>
    /// <param name="frame">Number of the frame, from 0.</param>
    /// <param name="bgr">Takes blue, green and red of each pixel, row by row; at least <see cref="FrameBytes"/> long.</param>
    /// <exception cref="ArgumentOutOfRangeException">There is no such frame.</exception>
    /// <exception cref="ArgumentException"><paramref name="bgr"/> is too short.</exception>
    public void Render(int frame, Span<byte> bgr)
    {
        if (bgr.Length < FrameBytes)
            throw new ArgumentException($"A frame has {FrameBytes} bytes.", nameof(bgr));

        int picture = At(frame).Picture;
        _noise.Develop(picture, At(picture).Gain, RenderLight(picture), bgr);
    }

    /// <summary>The light of one frame before noise, clipping and coding.</summary>
    /// <param name="frame">Number of the frame, from 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">There is no such frame.</exception>
    public LinearPicture RenderLight(int frame)
    {
        FrameExposure exposure = At(At(frame).Picture);
        int width = Scenario.Camera.WidthPx, height = Scenario.Camera.HeightPx;
        var picture = new LinearPicture(width, height);
        float[] reflectance = _scene.LaserReflectance;
        double brightness = exposure.ExposureSeconds / _firstExposure * exposure.Gain;
        double middle = exposure.TimeSeconds + exposure.ExposureSeconds / 2;
        var factor = (float)(brightness * (1 - (_passer?.ShadowAt(middle) ?? 0)));
        if (exposure.ShiftUPx == 0 && exposure.ShiftVPx == 0)
        {
            picture.CopyFrom(_scene.Light, factor);
        }
        else
        {
            var moved = new LinearPicture(width, height);
            reflectance = new float[width * height];
            Move(_scene.Light.Red, moved.Red);
            Move(_scene.Light.Green, moved.Green);
            Move(_scene.Light.Blue, moved.Blue);
            Move(_scene.LaserReflectance, reflectance);
            picture.CopyFrom(moved, factor);
        }

        _painter.Add(exposure, reflectance, picture);
        _passer?.Cover(picture, middle, brightness);
        return picture;

        void Move(float[] plane, float[] into) => PlaneFilter.Shift(plane, into, width, height, exposure.ShiftUPx, exposure.ShiftVPx);
    }

    private static DisplayOrientation Rotated(CameraSettings camera) => camera.RotationTagDegrees switch
    {
        90 => new DisplayOrientation(camera.WidthPx, camera.HeightPx, 0, -1, 1, 0),
        180 => new DisplayOrientation(camera.WidthPx, camera.HeightPx, -1, 0, 0, -1),
        270 => new DisplayOrientation(camera.WidthPx, camera.HeightPx, 0, 1, -1, 0),
        _ => DisplayOrientation.Upright(camera.WidthPx, camera.HeightPx),
    };

    private FrameExposure At(int frame)
    {
        if (frame < 0 || frame >= _frames.Length)
            throw new ArgumentOutOfRangeException(nameof(frame), frame, $"The clip has frames 0 to {_frames.Length - 1}.");

        return _frames[frame];
    }
}
