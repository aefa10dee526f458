using StreakTrack.Core.Scale;

namespace StreakTrack.Core.Series;

/// <summary>What was measured in one frame, still in pixels of the displayed picture.</summary>
/// <remarks>
/// The ends are the turning points of the spot's centre, one spot's half width inside the visible edge. <see cref="FirstEnd"/> is the end
/// on the side of the smaller ruler reading.
/// </remarks>
public sealed record StreakReading
{
    /// <summary>Position of the frame in the clip, from 0.</summary>
    public required int Frame { get; init; }

    /// <summary>The frame's presentation time from the container, in s.</summary>
    public required double TimeSeconds { get; init; }

    /// <summary>Turning point on the side of the smaller reading, from the profile model; null where it could not be found.</summary>
    public PicturePoint? FirstEnd { get; init; }

    /// <summary>Turning point on the side of the larger reading, from the profile model; null where it could not be found.</summary>
    public PicturePoint? SecondEnd { get; init; }

    /// <summary>Standard uncertainty of half the distance between the ends, in px; statistical part of this frame only.</summary>
    public double HalfLengthUncertaintyPx { get; init; } = double.NaN;

    /// <summary>The end on the side of the smaller reading from the threshold stage; null where no streak was found.</summary>
    public PicturePoint? ThresholdFirstEnd { get; init; }

    /// <summary>The end on the side of the larger reading from the threshold stage; null where no streak was found.</summary>
    public PicturePoint? ThresholdSecondEnd { get; init; }

    /// <summary>Laser light in the streak, summed over its pixels: linear units, 1 = one pixel at full scale.</summary>
    public double Brightness { get; init; } = double.NaN;

    /// <summary>Standard deviation of the spot's brightness along the streak, in px.</summary>
    public double SpotSigmaPx { get; init; } = double.NaN;

    /// <summary>What is remarkable about the frame.</summary>
    public FrameFlags Flags { get; init; }
}
