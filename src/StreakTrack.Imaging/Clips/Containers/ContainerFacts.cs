namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>What a container says of its first video stream.</summary>
internal sealed record ContainerFacts
{
    /// <summary>Name of the container format.</summary>
    public required string Container { get; init; }

    /// <summary>Name of the codec.</summary>
    public required string Codec { get; init; }

    /// <summary>How samples are stored.</summary>
    public required StreamFormat Format { get; init; }

    /// <summary>The 2x2 part of the display matrix, for column vectors (x, y), as signs.</summary>
    public (int XX, int XY, int YX, int YY) Turn { get; init; } = (1, 0, 0, 1);

    /// <summary>Frames that should come out; null where unknown.</summary>
    public int? Frames { get; init; }

    /// <summary>Presentation time of the first frame, in s.</summary>
    public double StartSeconds { get; init; }

    /// <summary>Length, in s; null where unknown.</summary>
    public double? DurationSeconds { get; init; }

    /// <summary>Mean rate of the stored frames, in 1/s; null where unknown.</summary>
    public double? FrameRate { get; init; }

    /// <summary>Rate at which the camera took the frames, where it is noted, in 1/s.</summary>
    public double? CaptureRate { get; init; }

    /// <summary>Pieces that the edit list plays, one after the other.</summary>
    public int Pieces { get; init; } = 1;

    /// <summary>Whether the edit list plays a piece at another speed.</summary>
    public bool SpeedChanged { get; init; }

    /// <summary>Lists the presentation times of the frames, in s, from the container's index; null where it has none, or where pieces or
    /// speeds make it more than a list.</summary>
    public Func<double[]>? FrameTimes { get; init; }
}
