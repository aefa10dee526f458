namespace StreakTrack.Imaging.Streaks;

/// <summary>Settings of the streak measurement.</summary>
public sealed record StreakOptions
{
    /// <summary>How far from the line through the marks the streak is looked for, in px; null for a quarter of the picture's smaller
    /// side.</summary>
    public int? SearchHalfWidthPx { get; init; }

    /// <summary>Threshold of the coarse ends, as a fraction of the brightness next to the end. Default 0.5; 0.1 to 0.9.</summary>
    public double ThresholdFraction { get; init; } = 0.5;

    /// <summary>Smallest half length that is told from the resting spot, in units of the spot's sigma. Default 2.</summary>
    public double SmallestHalfLengthSigma { get; init; } = 2;

    /// <summary>Frames looked at to find band, ambient light and spot. Default 24; 4 to 200.</summary>
    public int SurveyFrames { get; init; } = 24;

    /// <summary>Pictures kept for the contact sheet. Default 12; 0 to 100.</summary>
    public int Pictures { get; init; } = 12;

    /// <summary>Which reader decodes the clip.</summary>
    public Clips.ReaderChoice Reader { get; init; } = Clips.ReaderChoice.Auto;
}
