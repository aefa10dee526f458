using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Photos;

/// <summary>What is known of a photograph before its streak is measured.</summary>
public sealed record PhotoFacts
{
    /// <summary>Absolute path of the file.</summary>
    public required string Path { get; init; }

    /// <summary>File name without its folder.</summary>
    public string Name => System.IO.Path.GetFileName(Path);

    /// <summary>Size of the file, in bytes.</summary>
    public required long Bytes { get; init; }

    /// <summary>SHA-256 of the file, lower-case hexadecimal.</summary>
    public required string Sha256 { get; init; }

    /// <summary>File format: JPEG or PNG.</summary>
    public required string Format { get; init; }

    /// <summary>Bits per sample: 8 or 16; samples of fewer bits are spread over 8.</summary>
    public required int BitDepth { get; init; }

    /// <summary>The orientation tag of the file (EXIF 2.3, tag 274), 1 to 8; 1 where there is none.</summary>
    public required int OrientationTag { get; init; }

    /// <summary>Size as stored, and how the picture is turned to stand upright.</summary>
    public required DisplayOrientation Orientation { get; init; }

    /// <summary>Exposure time that the file states (EXIF tags 33434 and 37377), in s; null where it does not.</summary>
    public double? ExposureSeconds { get; init; }

    /// <summary>Whether codes are proportional to light, as a PNG file can say; else they are taken for sRGB.</summary>
    public bool IsLinear { get; init; }

    /// <summary>Whether no pixel has a colour.</summary>
    public bool IsGrey { get; init; }
}
