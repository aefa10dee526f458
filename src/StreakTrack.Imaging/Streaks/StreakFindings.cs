using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Series;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Remarks on the streak, drawn from what was measured.</summary>
internal static class StreakFindings
{
    /// <summary>A change of the scene's brightness that counts as a step of the exposure.</summary>
    private const double ExposureStep = 0.05;

    /// <summary>Draws up the remarks.</summary>
    public static IReadOnlyList<Finding> Of(
        IReadOnlyList<StreakReading> readings, IReadOnlyList<PassedFrame> frames, StreakSurvey survey, StreakOptics optics)
    {
        var findings = new List<Finding>();
        int all = readings.Count, none = Count(FrameFlags.NoStreak);
        if (none == all)
            findings.Add(FindingKinds.NoStreak.With("No frame shows a streak that stands out from the noise."));
        else if (none > 0)
            findings.Add(FindingKinds.NoStreak.With(FindingSeverity.Info, Text($"In {none} of {all} frames no streak stands out from the noise; they have no amplitude.")));

        Remark(FrameFlags.PartialExposure, FindingKinds.PartialExposure,
            n => Text($"In {n} of {all} frames the exposure saw only a part of the swing: about {optics.Periods:F2} of a period."));
        Remark(FrameFlags.Saturated, FindingKinds.Saturation,
            n => Text($"In {n} of {all} frames a part of the streak is clipped in the {Name(survey)} channel; the clipped samples were left out and the ends measured on the rest."));
        Remark(FrameFlags.CutOff, FindingKinds.StreakCutOff, n => Text($"In {n} of {all} frames the streak reaches the edge of the picture; they were not used."));
        Remark(FrameFlags.Faint, FindingKinds.LowContrast, n => Text($"In {n} of {all} frames an end of the streak is less than five times as bright as the noise."));
        Remark(FrameFlags.BelowUsableRange, FindingKinds.BelowUsableRange,
            n => Text($"In {n} of {all} frames the streak is too short beside the spot (standard deviation {optics.SigmaPx:F1} px) to be measured."));
        int disagree = Count(FrameFlags.EstimatesDisagree);
        if (disagree > 0.05 * all)
            findings.Add(FindingKinds.EstimatesDisagree.With(Text($"In {disagree} of {all} frames threshold and profile estimate differ by more than the spot explains.")));

        double low = frames.Min(f => f.Gain), high = frames.Max(f => f.Gain);
        if (high > low * (1 + ExposureStep))
        {
            findings.Add(FindingKinds.ExposureStep.With(
                Text($"The brightness of the ruler beside the streak changes by {100 * ((high / low) - 1):F0} % within the clip.")));
        }

        return findings;

        int Count(FrameFlags flag) => readings.Count(r => (r.Flags & flag) != 0);

        void Remark(FrameFlags flag, FindingKind kind, Func<int, string> message)
        {
            int n = Count(flag);
            if (n > 0)
                findings.Add(kind.With(message(n)));
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
