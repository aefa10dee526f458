using StreakTrack.Core.Series;

namespace StreakTrack.Reporting.Pages;

/// <summary>Frame flags in words.</summary>
internal static class FlagWording
{
    private static readonly (FrameFlags Flag, string Words)[] Table =
    [
        (FrameFlags.NoStreak, "no streak found"),
        (FrameFlags.PartialExposure, "only an arc of the swing"),
        (FrameFlags.Saturated, "saturated"),
        (FrameFlags.CutOff, "cut off"),
        (FrameFlags.Faint, "faint"),
        (FrameFlags.BelowUsableRange, "too short to measure"),
        (FrameFlags.EstimatesDisagree, "estimates disagree"),
        (FrameFlags.ProfileFailed, "no profile fit"),
        (FrameFlags.OutsideMarks, "beyond the marks"),
        (FrameFlags.Recovered, "recovered from arcs"),
        (FrameFlags.Excluded, "left out by hand"),
        (FrameFlags.Outlier, "far off the curve"),
        (FrameFlags.PartHidden, "partly hidden"),
        (FrameFlags.Repeated, "shown twice"),
        (FrameFlags.RulerLost, "ruler not recognised"),
    ];

    /// <summary>All flags that are set, in words, joined by commas.</summary>
    public static string List(FrameFlags flags) => string.Join(", ", Table.Where(t => (flags & t.Flag) != 0).Select(t => t.Words));
}
