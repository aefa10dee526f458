using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;

namespace StreakTrack.Imaging.Photos;

/// <summary>Remarks on a series of photographs, drawn from what was measured.</summary>
internal static class PhotoFindings
{
    /// <summary>Names that a message holds; the table has them all.</summary>
    private const int MostNames = 6;

    /// <summary>A ruler that lies farther than this from where the first photograph shows it was moved, in px.</summary>
    private const double MovedPx = 0.3;

    /// <summary>Draws up the remarks.</summary>
    /// <param name="photos">What was measured.</param>
    /// <param name="series">The same as a series.</param>
    /// <param name="channel">Name of the colour that was measured in.</param>
    /// <param name="spotSigmaPx">The spot's standard deviation, in px.</param>
    /// <param name="rulerTold">Whether the photographs show enough of the ruler to tell whether it moved.</param>
    public static IEnumerable<Finding> Of(
        IReadOnlyList<PhotoResultRecord> photos, AmplitudeSeries series, string channel, double spotSigmaPx, bool rulerTold)
    {
        string[] none = Having(FrameFlags.NoStreak), arcs = Having(FrameFlags.PartialExposure);
        if (none.Length == photos.Count)
            yield return FindingKinds.NoStreak.With("No photograph shows a streak that stands out from the noise.");
        else if (none.Length > 0)
        {
            yield return FindingKinds.NoStreak.With(
                FindingSeverity.Warning, $"{List(none)}: no streak stands out from the noise; there is no amplitude.");
        }

        if (arcs.Length > 0)
        {
            double least = photos.Where(p => p.ExposurePeriods < 1).Min(p => p.ExposurePeriods!.Value);
            yield return FindingKinds.PartialExposure.With(Text(
                $"{List(arcs)}: the exposure is shorter than one period of the oscillation (down to {least:F2} of it), so the length seen may be that of an arc; not used."));
        }

        string[] unknown = [.. photos.Where(p => p.ExposureS is null).Select(p => p.File)];
        if (unknown.Length > 0)
            yield return FindingKinds.ExposureUnknown.With($"{List(unknown)}: no exposure time is stated; whole periods are assumed.");
        string[] unasked = [.. photos.Where(p => p.ExposureS is not null && p.FrequencyHz is null).Select(p => p.File)];
        if (unasked.Length > 0)
        {
            yield return FindingKinds.ExposureUnknown.With(
                $"{List(unasked)}: no frequency is known, so the exposure could not be held against the period; whole periods are assumed.");
        }

        foreach (Finding finding in new[]
        {
            Remark(FrameFlags.Saturated, FindingKinds.Saturation,
                $"a part of the streak is clipped in the {channel} channel; the clipped samples were left out and the rest measured"),
            Remark(FrameFlags.CutOff, FindingKinds.StreakCutOff, "the streak reaches the edge of the picture; not used"),
            Remark(FrameFlags.Faint, FindingKinds.LowContrast, "an end of the streak is less than five times as bright as the noise"),
            Remark(FrameFlags.BelowUsableRange, FindingKinds.BelowUsableRange,
                Text($"the streak is too short beside the spot (standard deviation {spotSigmaPx:F1} px) to be measured; not used")),
            Remark(FrameFlags.EstimatesDisagree, FindingKinds.EstimatesDisagree, "threshold and profile estimate differ by more than the spot explains"),
            Remark(FrameFlags.ProfileFailed, FindingKinds.EstimatesDisagree,
                "the brightness along the streak is not that of a swing, so that only the threshold estimate stands; not used"),
        }.OfType<Finding>())
        {
            yield return finding;
        }

        double farthest = series.Where(s => !s.Flags.HasFlag(FrameFlags.RulerLost)).Select(s => photos[s.Frame])
            .Select(p => Math.Sqrt(Math.Pow(p.ShiftUPx ?? 0, 2) + Math.Pow(p.ShiftVPx ?? 0, 2))).DefaultIfEmpty(0).Max();
        string[] lost = Having(FrameFlags.RulerLost);
        string unrecognised = lost.Length == 0 ? "" : $" {List(lost)}: the ruler was not recognised; not used.";
        if (farthest > MovedPx)
        {
            yield return FindingKinds.Movement.With(
                Text($"The ruler lies up to {farthest:F1} px from where the first photograph shows it. It was followed by its ticks and edges.") + unrecognised);
        }
        else if (lost.Length > 0)
        {
            yield return FindingKinds.Movement.With(unrecognised.TrimStart());
        }
        else if (!rulerTold)
        {
            yield return FindingKinds.Movement.With(FindingSeverity.Info,
                "The photographs show too little of the ruler beside the streak to tell whether the camera moved between them; it is taken to have stood still.");
        }

        string[] outside = [.. series.Where(s => s.IsUsable && s.Flags.HasFlag(FrameFlags.OutsideMarks)).Select(s => photos[s.Frame].File)];
        if (outside.Length > 0)
            yield return FindingKinds.OutsideMarks.With($"{List(outside)}: the streak reaches beyond the outermost marks.");

        string[] Having(FrameFlags flag) => [.. series.Where(s => s.Flags.HasFlag(flag)).Select(s => photos[s.Frame].File)];

        Finding? Remark(FrameFlags flag, FindingKind kind, string what)
        {
            string[] names = Having(flag);
            return names.Length == 0 ? null : kind.With($"{List(names)}: {what}.");
        }
    }

    private static string List(string[] names) => names.Length <= MostNames
        ? string.Join(", ", names)
        : Text($"{string.Join(", ", names[..(MostNames - 1)])} and {names.Length - MostNames + 1} more photographs");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
