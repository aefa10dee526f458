namespace StreakTrack.Core.Series;

/// <summary>One row of the series: what one frame says about the amplitude.</summary>
/// <remarks>Lengths are on the ruler, in mm. Missing numbers are NaN.</remarks>
public sealed record AmplitudeSample
{
    /// <summary>Position of the frame in the clip, from 0.</summary>
    public required int Frame { get; init; }

    /// <summary>Presentation time of the frame, in s.</summary>
    public required double TimeSeconds { get; init; }

    /// <summary>Ruler reading of the turning point with the smaller reading, in mm.</summary>
    public double LeftMm { get; init; } = double.NaN;

    /// <summary>Ruler reading of the turning point with the larger reading, in mm.</summary>
    public double RightMm { get; init; } = double.NaN;

    /// <summary>Distance between the turning points, in mm.</summary>
    public double LengthMm => RightMm - LeftMm;

    /// <summary>Amplitude on the ruler: half the distance between the turning points, in mm.</summary>
    public double AmplitudeMm { get; init; } = double.NaN;

    /// <summary>
    /// Standard uncertainty of <see cref="AmplitudeMm"/> that differs from frame to frame, in mm; the scale's own is not in it.
    /// </summary>
    public double AmplitudeUncertaintyMm { get; init; } = double.NaN;

    /// <summary>Amplitude from the threshold stage alone, in mm.</summary>
    public double ThresholdAmplitudeMm { get; init; } = double.NaN;

    /// <summary>Amplitude of the mirror's angle, in mrad; NaN without a distance.</summary>
    public double AmplitudeMrad { get; init; } = double.NaN;

    /// <summary>Laser light in the streak, in linear units, 1 = one pixel at full scale.</summary>
    public double Brightness { get; init; } = double.NaN;

    /// <summary>What is remarkable about the frame.</summary>
    public FrameFlags Flags { get; init; }

    /// <summary>Whether the amplitude can go into a fit.</summary>
    public bool IsUsable => double.IsFinite(AmplitudeMm) && (Flags & Unusable) == 0;

    /// <summary>Flags that keep a frame out of a fit.</summary>
    private const FrameFlags Unusable =
        FrameFlags.NoStreak | FrameFlags.PartialExposure | FrameFlags.CutOff | FrameFlags.BelowUsableRange | FrameFlags.ProfileFailed
        | FrameFlags.Excluded | FrameFlags.PartHidden | FrameFlags.Repeated | FrameFlags.RulerLost;
}
