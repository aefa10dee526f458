using StreakTrack.Core.Findings;

namespace StreakTrack.Imaging.Clips;

/// <summary>What is known of a clip before its pictures are decoded.</summary>
public sealed record ClipFacts
{
    /// <summary>Absolute path of the file.</summary>
    public required string Path { get; init; }

    /// <summary>Size of the file, in bytes.</summary>
    public required long Bytes { get; init; }

    /// <summary>Container format.</summary>
    public required string Container { get; init; }

    /// <summary>Video codec.</summary>
    public required string Codec { get; init; }

    /// <summary>Pixel format in the decoder's notation, for example yuv420p.</summary>
    public required string PixelFormat { get; init; }

    /// <summary>Bits per sample.</summary>
    public required int BitDepth { get; init; }

    /// <summary>Size as stored, and how it is turned for display.</summary>
    public required DisplayOrientation Orientation { get; init; }

    /// <summary>How samples relate to light.</summary>
    public required ColourDescription Colour { get; init; }

    /// <summary>Frames that the container announces; null where it does not say.</summary>
    public int? AnnouncedFrames { get; init; }

    /// <summary>Time of the first frame, in s.</summary>
    public double StartSeconds { get; init; }

    /// <summary>Length of the clip, in s; null where the container does not say.</summary>
    public double? DurationSeconds { get; init; }

    /// <summary>Remarks on the file.</summary>
    public IReadOnlyList<Finding> Findings { get; init; } = [];
}
