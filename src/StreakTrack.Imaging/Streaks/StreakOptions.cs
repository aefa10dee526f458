namespace StreakTrack.Imaging.Streaks;

/// <summary>Settings of the streak measurement.</summary>
public sealed record StreakOptions
{
    /// <summary>How far from the line through the marks the streak is looked for, in px; null for a quarter of the picture's smaller
    /// side, and 20 mm at least.</summary>
    public int? SearchHalfWidthPx { get; init; }

    /// <summary>How far beside the line through the marks the middle of the search lies, in px across the strip; positive on the side to
    /// which a quarter turn takes the axis, as stored in the file. Default 0.</summary>
    public double SearchOffsetPx { get; init; }

    /// <summary>Threshold of the coarse ends, as a fraction of the brightness next to the end. Default 0.5; 0.1 to 0.9.</summary>
    public double ThresholdFraction { get; init; } = 0.5;

    /// <summary>Smallest half length that is told from the resting spot, in units of the spot's sigma. Default 2.</summary>
    public double SmallestHalfLengthSigma { get; init; } = 2;

    /// <summary>Frames looked at to find the band. Default 8: key frames of a few seconds; 2 to 100.</summary>
    public int SurveyFrames { get; init; } = 8;

    /// <summary>Pictures kept for the contact sheet. Default 12; 0 to 100.</summary>
    public int Pictures { get; init; } = 12;

    /// <summary>The colour channel to measure in; null, the default, to choose the beam's own unless it is clipped.</summary>
    public Clips.LightChannel? Channel { get; init; }

    /// <summary>Whether the frames are photographs taken one by one: nothing about one then follows from those beside it, and every exposure
    /// is taken for whole periods. Default false.</summary>
    public bool SeparateExposures { get; init; }

    /// <summary>Frequency of the oscillation, in Hz of the clip's own time, to a few percent; null where it is not known. No exposure is longer than a
    /// frame lasts, which then bounds the periods that it sees.</summary>
    public double? FrequencyHz { get; init; }

    /// <summary>Which reader decodes the clip.</summary>
    public Clips.ReaderChoice Reader { get; init; } = Clips.ReaderChoice.Auto;

    /// <summary>The same settings with those of others that a pass over the clip does not depend on: threshold and frequency.</summary>
    /// <param name="others">The other settings.</param>
    public StreakOptions WithLaterOf(StreakOptions others) => this with { ThresholdFraction = others.ThresholdFraction, FrequencyHz = others.FrequencyHz };

    /// <summary>Checks the ranges.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A setting is out of its range.</exception>
    public void Validate()
    {
        if (SearchHalfWidthPx is < 4)
            throw new ArgumentOutOfRangeException(nameof(SearchHalfWidthPx), "The search must reach at least 4 px to either side.");
        if (!double.IsFinite(SearchOffsetPx))
            throw new ArgumentOutOfRangeException(nameof(SearchOffsetPx), "The middle of the search must be finite.");
        if (!(ThresholdFraction is >= 0.1 and <= 0.9))
            throw new ArgumentOutOfRangeException(nameof(ThresholdFraction), "The threshold fraction must lie between 0.1 and 0.9.");
        if (!(SmallestHalfLengthSigma is >= 0 and <= 20))
            throw new ArgumentOutOfRangeException(nameof(SmallestHalfLengthSigma), "The smallest half length is 0 to 20 sigma.");
        if (FrequencyHz is not (null or (> 0 and < double.PositiveInfinity)))
            throw new ArgumentOutOfRangeException(nameof(FrequencyHz), "The frequency must be positive and finite.");
        if (SurveyFrames is < 2 or > 100)
            throw new ArgumentOutOfRangeException(nameof(SurveyFrames), "The survey takes 2 to 100 frames.");
        if (Pictures is < 0 or > 100)
            throw new ArgumentOutOfRangeException(nameof(Pictures), "0 to 100 pictures can be kept.");
    }
}
