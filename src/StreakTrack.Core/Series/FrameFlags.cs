namespace StreakTrack.Core.Series;

/// <summary>What is remarkable about one frame. A frame can carry several flags.</summary>
[Flags]
public enum FrameFlags
{
    /// <summary>Nothing remarkable.</summary>
    None = 0,

    /// <summary>No streak was found; the frame has no amplitude.</summary>
    NoStreak = 1 << 0,

    /// <summary>The exposure saw only an arc of the swing; the ends are not both turning points.</summary>
    PartialExposure = 1 << 1,

    /// <summary>Pixels of the streak are clipped.</summary>
    Saturated = 1 << 2,

    /// <summary>The streak reaches the edge of the picture or of the band.</summary>
    CutOff = 1 << 3,

    /// <summary>The streak is faint beside the noise.</summary>
    Faint = 1 << 4,

    /// <summary>The half length is too small beside the spot's width to be told from the resting spot.</summary>
    BelowUsableRange = 1 << 5,

    /// <summary>Threshold and profile estimates differ by more than their known offset.</summary>
    EstimatesDisagree = 1 << 6,

    /// <summary>The profile fit did not converge; only the threshold estimate stands.</summary>
    ProfileFailed = 1 << 7,

    /// <summary>An end lies outside the interval covered by the marks.</summary>
    OutsideMarks = 1 << 8,

    /// <summary>A part of the streak is hidden: by somebody or something in the way, or beyond the ruler's end.</summary>
    PartHidden = 1 << 9,

    /// <summary>The amplitude was recovered from neighbouring arcs and not from this frame alone.</summary>
    Recovered = 1 << 10,

    /// <summary>The user excluded this frame.</summary>
    Excluded = 1 << 11,

    /// <summary>The point lies far off the fitted curve; it is shown, and what was done with it is said in the fit.</summary>
    Outlier = 1 << 12,

    /// <summary>The frame shows the picture of the one before once more, which belongs to an earlier time.</summary>
    Repeated = 1 << 13,

    /// <summary>The ruler, which moves in this clip, was not recognised in the frame, so that its scale is not known.</summary>
    RulerLost = 1 << 14,
}
