using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Remarks on the streak, drawn from what was measured. What they say of frequencies and decay times is left to whoever knows how the
/// clip's times go with real time.</summary>
internal static class StreakFindings
{
    /// <summary>Arcs that tell nothing, for each one that tells an amplitude, beyond which those are not trusted.</summary>
    private const int MostLostPerRecovered = 3;

    /// <summary>A change of the scene's brightness that counts as a step of the exposure.</summary>
    private const double ExposureStep = 0.08;

    /// <summary>Frames over which the scene's brightness is taken together: about half a second.</summary>
    private const int RunFrames = 15;

    /// <summary>Share of the frames from which a disagreement is more than chance.</summary>
    private const double SomeFrames = 0.05;

    /// <summary>Draws up the remarks.</summary>
    /// <param name="readings">The readings.</param>
    /// <param name="frames">The frames as the pass found them.</param>
    /// <param name="survey">Where the streak is.</param>
    /// <param name="optics">What the streaks have in common.</param>
    /// <param name="dot">The moving dot that they are; null where they are streaks.</param>
    /// <param name="wholeIsUsual">Whether most frames show one stretch of light about a common middle, so that the others can be told by them.</param>
    public static IReadOnlyList<Finding> Of(
        IReadOnlyList<StreakReading> readings, IReadOnlyList<PassedFrame> frames, StreakSurvey survey, StreakOptics optics, MovingDot? dot,
        bool wholeIsUsual)
    {
        const FrameFlags notUsed = FrameFlags.CutOff | FrameFlags.PartHidden | FrameFlags.Repeated | FrameFlags.RulerLost;
        var findings = new List<Finding>();
        int all = readings.Count, none = Count(FrameFlags.NoStreak);
        if (none == all)
            findings.Add(FindingKinds.NoStreak.With("No frame shows a streak that stands out from the noise."));
        else if (none > 0)
            Add(FindingKinds.NoStreak, none, "no streak stands out from the noise; they have no amplitude", FindingSeverity.Info);

        if (dot is null && optics.IsPartial)
        {
            int recovered = Count(FrameFlags.Recovered), lost = Count(FrameFlags.PartialExposure);
            string seen = Text($"An exposure sees only about {optics.Periods:F2} of a period. ");
            string used = Text($"In {recovered} of {all} frames the amplitude was recovered from the arc; {lost} tell too little.");
            findings.Add(lost > MostLostPerRecovered * recovered
                ? FindingKinds.PartialExposure.With(FindingSeverity.Error, seen + used + " So few may as well agree by chance, as with light that flashes.")
                : FindingKinds.PartialExposure.With(seen + used));
        }

        Remark(FrameFlags.Saturated, FindingKinds.Saturation,
            $"a part of the streak is clipped in the {Name(survey)} channel; the clipped samples were left out and the rest measured");
        Remark(FrameFlags.CutOff, FindingKinds.StreakCutOff, "the streak reaches the edge of the picture; they were not used");
        Remark(FrameFlags.PartHidden, FindingKinds.StreakHidden,
            "the streak lacks light, is in pieces, or its middle is displaced: a part of it is hidden or lies beyond the ruler; they were not used");
        if (!wholeIsUsual && none < all)
        {
            findings.Add(FindingKinds.StreakHidden.With(FindingSeverity.Error,
                "In most frames the streak is missing, in pieces or not understood, or its middle is not where it is in the others, so that a part of it may be hidden in any of them."));
        }

        Remark(FrameFlags.Repeated, FindingKinds.FramesRepeated, "the picture of the frame before is shown once more; they were not used");
        Remark(FrameFlags.Faint, FindingKinds.LowContrast, "an end of the streak is less than five times as bright as the noise");
        Remark(FrameFlags.BelowUsableRange, FindingKinds.BelowUsableRange,
            Text($"the streak is too short beside the spot (standard deviation {optics.SigmaPx:F1} px) to be measured"));
        int disagree = readings.Count(r => (r.Flags & FrameFlags.EstimatesDisagree) != 0 && (r.Flags & notUsed) == 0);
        if (disagree > SomeFrames * all)
            Add(FindingKinds.EstimatesDisagree, disagree, "threshold and profile estimate differ by more than the spot explains", null);

        RulerMotion[] motions = [.. frames.Select(f => f.Motion).OfType<RulerMotion>()];
        if (motions.Length > 0)
        {
            double farthest = motions.Max(m => Math.Sqrt((m.ShiftUPx * m.ShiftUPx) + (m.ShiftVPx * m.ShiftVPx)));
            int lost = motions.Count(m => !m.Followed);
            findings.Add(FindingKinds.Movement.With(
                Text($"The ruler moves by up to {farthest:F1} px in the picture. It was followed by its ticks and edges")
                + (lost > 0 ? Text($"; in {lost} of {all} frames it was not recognised; they were not used.") : ".")));
        }

        double[] gains = [.. SteadyGains(frames)];
        double low = gains.Min(), high = gains.Max();
        if (high > low * (1 + ExposureStep))
        {
            findings.Add(FindingKinds.ExposureStep.With(
                Text($"The brightness of the ruler beside the streak changes by {100 * ((high / low) - 1):F0} % within the clip.")));
        }

        if (optics.SigmasPx is { } widths)
        {
            findings.Add(FindingKinds.FocusChange.With(
                Text($"The spot's width goes from {widths.Min():F1} to {widths.Max():F1} px (standard deviation) within the clip; each frame was measured with its own.")));
        }

        return findings;

        int Count(FrameFlags flag) => readings.Count(r => (r.Flags & flag) != 0);

        void Remark(FrameFlags flag, FindingKind kind, string what)
        {
            int n = Count(flag);
            if (n > 0)
                Add(kind, n, what, null);
        }

        void Add(FindingKind kind, int n, string what, FindingSeverity? severity)
        {
            string message = Text($"In {n} of {all} frames {what}.");
            findings.Add(severity is FindingSeverity other ? kind.With(other, message) : kind.With(message));
        }
    }

    // Medians over runs of frames: a step lasts, the unrest of a single frame does not.
    private static IEnumerable<double> SteadyGains(IReadOnlyList<PassedFrame> frames)
    {
        for (int from = 0; from < frames.Count; from += RunFrames)
        {
            double[] run = [.. frames.Skip(from).Take(RunFrames).Select(f => f.Gain).Order()];
            if (run.Length > RunFrames / 2 || from == 0)
                yield return run[run.Length / 2];
        }
    }

    private static string Name(StreakSurvey survey) => survey.Channel switch
    {
        Clips.LightChannel.Red => "red",
        Clips.LightChannel.Green => "green",
        Clips.LightChannel.Blue => "blue",
        _ => "brightness",
    };

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
