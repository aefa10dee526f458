namespace StreakTrack.Synthesis.Output;

/// <summary>How a frame is stored as a photograph.</summary>
public sealed record PhotoSettings
{
    /// <summary>Orientation tag (EXIF 2.3, tag 274), 1 to 8: the picture is stored so that it stands upright when turned by it. Default 1.</summary>
    public int OrientationTag
    {
        get;
        init => field = value is >= 1 and <= 8 ? value : throw new ArgumentOutOfRangeException(nameof(OrientationTag), value, "An orientation tag is 1 to 8.");
    } = 1;

    /// <summary>Whether the file states its exposure time. Default true.</summary>
    public bool StatesExposure { get; init; } = true;

    /// <summary>Whether it is taken by a camera that sees no colours. Default false.</summary>
    public bool IsGrey { get; init; }

    /// <summary>Whether a PNG file has 16 bits a sample and no noise; else the camera's 8. Default false.</summary>
    public bool SixteenBits { get; init; }

    /// <summary>Whether a PNG file has a channel of opacity, opaque everywhere. Default false.</summary>
    public bool HasAlpha { get; init; }

    /// <summary>Quality of a JPEG file, 1 to 100; colour at half resolution below 91, as cameras store it. Default 90.</summary>
    public int JpegQuality { get; init; } = 90;
}
