using StreakTrack.Core.Findings;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>The streak of a clip, measured in every frame.</summary>
public sealed record StreakMeasurement
{
    /// <summary>One reading a frame, in the order of the clip.</summary>
    public required IReadOnlyList<StreakReading> Readings { get; init; }

    /// <summary>The band that was looked at.</summary>
    public required StripGeometry Band { get; init; }

    /// <summary>Distance of the band's middle from the line through the marks, in px.</summary>
    public required double BandOffsetPx { get; init; }

    /// <summary>The colour channel in which the beam was measured.</summary>
    public required LightChannel Channel { get; init; }

    /// <summary>Standard deviation of the spot along the streak, in px.</summary>
    public required double SpotSigmaPx { get; init; }

    /// <summary>Length of an exposure in periods of the oscillation, from the brightness along the streaks; NaN where it could not be
    /// told.</summary>
    public required double ExposurePeriods { get; init; }

    /// <summary>The moving dot that the clip shows in place of a streak, in the clip's own time; null for a streak.</summary>
    public MovingDot? Dot { get; init; }

    /// <summary>Frequency of the oscillation folded to 0 .. half of the frame rate, in Hz of the clip's own time, from where the arcs of
    /// short exposures lie; NaN where exposures see the whole swing or no even advance is seen, and for a <see cref="Dot"/>, whose frequency
    /// may be folded by flashes instead of frames.</summary>
    public double AliasFrequencyHz { get; init; } = double.NaN;

    /// <summary>Standard uncertainty of <see cref="AliasFrequencyHz"/>.</summary>
    public double AliasFrequencyUncertaintyHz { get; init; } = double.NaN;

    /// <summary>Frames that were announced but could not be decoded.</summary>
    public required int LostFrames { get; init; }

    /// <summary>The reader used, with its version.</summary>
    public required string ReaderName { get; init; }

    /// <summary>The ruler around the marks' line, where it lies in the clip's first frame, for finding its ticks.</summary>
    public required RulerPicture Ruler { get; init; }

    /// <summary>Pictures of the band in a few evenly spread frames.</summary>
    public required IReadOnlyList<StreakPicture> Pictures { get; init; }

    /// <summary>Remarks on the streak, but for what goes with time: <see cref="Analysis.ClipAnalyzer.FindingsOf(StreakMeasurement, double)"/> has all of them.</summary>
    public required IReadOnlyList<Finding> Findings { get; init; }
}
