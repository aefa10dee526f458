using StreakTrack.Imaging.Clips;

namespace StreakTrack.Synthesis.Scenarios;

/// <summary>The camera. Its picture is the stored one: rows are the sensor's rows, before the rotation tag is applied.</summary>
public sealed record CameraSettings
{
    /// <summary>Columns, even, 64 to 7680. Default 1280.</summary>
    public int WidthPx { get; init => field = Even(Guard.Between(value, 64, 7680)); } = 1280;

    /// <summary>Rows, even, 64 to 7680. Default 720.</summary>
    public int HeightPx { get; init => field = Even(Guard.Between(value, 64, 7680)); } = 720;

    /// <summary>Frames a second, 1 to 1000. Default 30. Kept to a whole number of 1/90000 s.</summary>
    public double FramesPerSecond { get; init => field = Guard.Between(value, 1, 1000); } = 30;

    /// <summary>Exposure time, in s, 1e-5 to 1; not longer than a frame. Null for a whole frame.</summary>
    public double? ExposureSeconds { get; init => field = value is double v ? Guard.Between(v, 1e-5, 1) : null; }

    /// <summary>Changes of exposure during the clip, in the order of their times.</summary>
    public IReadOnlyList<ExposureStep> ExposureSteps { get; init; } = [];

    /// <summary>Scale at the point aimed at, in px/mm, 0.05 to 200. Default 7.</summary>
    public double PxPerMm { get; init => field = Guard.Between(value, 0.05, 200); } = 7;

    /// <summary>Ruler reading in the middle of the picture, in mm; null for that of the resting spot.</summary>
    public double? AimReadingMm { get; init => field = value is double v ? Guard.Between(v, -10_000, 10_000) : null; }

    /// <summary>Distance of the picture's middle from the ruler's ticked edge, in mm, -1000 to 1000. Default 8.</summary>
    public double AimFromEdgeMm { get; init => field = Guard.Between(value, -1000, 1000); } = 8;

    /// <summary>Angle of view along the rows, in degrees, 5 to 120. Default 55.</summary>
    public double ViewAngleDegrees { get; init => field = Guard.Between(value, 5, 120); } = 55;

    /// <summary>Turn of the view about the axis across the ruler, in degrees, -60 to 60: one end of the ruler is nearer. Default
    /// 0.</summary>
    public double YawDegrees { get; init => field = Guard.Between(value, -60, 60); }

    /// <summary>Turn of the view about the axis along the ruler, in degrees, -60 to 60: one edge of the ruler is nearer. Default
    /// 0.</summary>
    public double PitchDegrees { get; init => field = Guard.Between(value, -60, 60); }

    /// <summary>Turn of the ruler in the stored picture, clockwise, in degrees, -180 to 180. Default 0.</summary>
    public double RollDegrees { get; init => field = Guard.Between(value, -180, 180); }

    /// <summary>Relative shift of a point at half the picture's diagonal by the lens (barrel below 0), -0.2 to 0.2. Default 0.</summary>
    public double LensDistortion { get; init => field = Guard.Between(value, -0.2, 0.2); }

    /// <summary>Loss of light at half the picture's diagonal, 0 to 0.8. Default 0.1.</summary>
    public double Vignetting { get; init => field = Guard.Between(value, 0, 0.8); } = 0.1;

    /// <summary>Time from the start of one row's exposure to that of the next, in s, 0 to 1e-3. Default 0.</summary>
    public double RowTimeSeconds { get; init => field = Guard.Between(value, 0, 1e-3); }

    /// <summary>Standard deviation of the image of a point, in px, 0 to 20. Default 0.8.</summary>
    public double PsfSigmaPx { get; init => field = Guard.Between(value, 0, 20); } = 0.8;

    /// <summary>How the focus changes within the clip, in the order of time. Only the spot is blurred by it. Default: not at all.</summary>
    public IReadOnlyList<FocusPoint> FocusPoints { get; init; } = [];

    /// <summary>Share of the beam's light that the lens spreads into a halo, 0 to 0.5. Default 0.012.</summary>
    public double HaloShare { get; init => field = Guard.Between(value, 0, 0.5); } = 0.012;

    /// <summary>Standard deviation of the halo, in px, 2 to 500. Default 22.</summary>
    public double HaloSigmaPx { get; init => field = Guard.Between(value, 2, 500); } = 22;

    /// <summary>Electrons at full scale, 50 to 1e6; few of them mean a noisy picture. Default 5000.</summary>
    public double FullWellElectrons { get; init => field = Guard.Between(value, 50, 1e6); } = 5000;

    /// <summary>Read noise, in electrons, 0 to 1000. Default 3.</summary>
    public double ReadNoiseElectrons { get; init => field = Guard.Between(value, 0, 1000); } = 3;

    /// <summary>Function from light to code: BT.709, sRGB or linear. Default BT.709.</summary>
    public TransferFunction Transfer
    {
        get;
        init => field = value is TransferFunction.Bt709 or TransferFunction.Srgb or TransferFunction.Linear
            ? value
            : throw new ArgumentOutOfRangeException(nameof(Transfer), value, "Simulated clips have 8 bits: BT.709, sRGB or linear.");
    } = TransferFunction.Bt709;

    /// <summary>Clockwise turn of the stored picture for display, in degrees: 0, 90, 180 or 270. Default 0.</summary>
    public int RotationTagDegrees
    {
        get;
        init => field = value is 0 or 90 or 180 or 270
            ? value
            : throw new ArgumentOutOfRangeException(nameof(RotationTagDegrees), value, "A rotation tag is 0, 90, 180 or 270 degrees.");
    }

    /// <summary>Root mean square of the hand's tremble along each axis, in px, 0 to 200. Default 0.</summary>
    public double ShakeRmsPx { get; init => field = Guard.Between(value, 0, 200); }

    /// <summary>Steady drift to the right, in px/s, -100 to 100. Default 0.</summary>
    public double DriftAlongPxPerSecond { get; init => field = Guard.Between(value, -100, 100); }

    /// <summary>Steady drift downward, in px/s, -100 to 100. Default 0.</summary>
    public double DriftAcrossPxPerSecond { get; init => field = Guard.Between(value, -100, 100); }

    private static int Even(int pixels) =>
        pixels % 2 == 0 ? pixels : throw new ArgumentException("Width and height must be even: colour is stored at half resolution.");
}
