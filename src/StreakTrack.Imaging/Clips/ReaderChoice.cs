namespace StreakTrack.Imaging.Clips;

/// <summary>The readers that frames can come from.</summary>
public enum ReaderChoice
{
    /// <summary>The ffmpeg program where it is installed, else the embedded decoder.</summary>
    Auto,

    /// <summary>The decoder inside the OpenCV package: always there.</summary>
    Embedded,

    /// <summary>An installed ffmpeg program, run as a child process.</summary>
    Ffmpeg,
}
