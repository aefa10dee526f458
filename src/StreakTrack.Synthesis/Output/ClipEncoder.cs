namespace StreakTrack.Synthesis.Output;

/// <summary>What encodes a simulated clip.</summary>
public enum ClipEncoder
{
    /// <summary>The ffmpeg program where it is installed and can write H.264, else the embedded encoder.</summary>
    Auto,

    /// <summary>The encoder inside the OpenCV package: JPEG frames in a QuickTime file, constant frame rate only.</summary>
    Embedded,

    /// <summary>An installed ffmpeg program: H.264 in an MP4 file, each frame with its own time.</summary>
    Ffmpeg,
}
