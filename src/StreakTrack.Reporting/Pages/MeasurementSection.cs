using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Core.Records;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>What was measured: clip, ruler, streak.</summary>
internal static class MeasurementSection
{
    /// <summary>Facts of the clip or of the series file.</summary>
    public static XElement? Source(AnalysisRecord record)
    {
        if (record.SeriesFile is SeriesFileRecord file)
        {
            return Section("source", "Series", Facts("The series file that was fitted",
            [
                ("File", file.File),
                ("Rows", Numbers.Count(file.Rows)),
                ("Times", file.Columns is { } times ? $"column {times.Time}, in {times.TimeUnit}" : null),
                ("Amplitudes", file.Columns is { } amplitudes ? AmplitudesOf(amplitudes) : null),
                ("SHA-256", Code(file.Sha256)),
            ]));
        }

        if (record.Clip is not ClipRecord clip)
            return null;
        double spacing = clip.MedianFrameSpacingS;
        return Section("source", "Clip", Facts("The clip that was measured",
        [
            ("File", clip.File),
            ("Format", $"{clip.Container}, {clip.Codec}, {Numbers.Bytes(clip.Bytes)}"),
            ("Picture as displayed", string.Create(CultureInfo.InvariantCulture, $"{clip.WidthPx} × {clip.HeightPx} px")),
            ("Frames", Numbers.Count(clip.Frames)
                + (clip.LostFrames == 0 ? "" : $", and {Numbers.Count(clip.LostFrames)} that could not be decoded")),
            ("Frame times", $"{Numbers.Fixed(clip.FirstTimeS, 3)} s to {Numbers.Fixed(clip.LastTimeS, 3)} s, from the container"),
            ("Usual spacing", spacing > 0
                ? $"{Numbers.Fixed(1000 * spacing, 2)} ms ({Numbers.Fixed(1 / spacing, 2)} frames a second)"
                : null),
            ("SHA-256", Code(clip.Sha256)),
        ]));
    }

    private static string AmplitudesOf(SeriesColumnsRecord columns) => columns.AmplitudeUnit switch
    {
        "px" => $"column {columns.Amplitude}, in px of {Numbers.Significant(columns.MmPerPx ?? double.NaN, 4)} mm",
        "mrad" or "rad" or "deg" => $"column {columns.Amplitude}, in {columns.AmplitudeUnit} at the mirror, carried to the ruler by the stated distance",
        _ => $"column {columns.Amplitude}, in {columns.AmplitudeUnit}",
    };

    /// <summary>The pixel scale and what it leaves over at the marks; null without a scale.</summary>
    public static XElement? Ruler(AnalysisRecord record, FigureNumbering numbering)
    {
        if (record.Result.Scale is not ScaleRecord scale)
            return null;
        return Section("ruler", "Ruler",
            Facts("The scale from pixels to millimetres",
            [
                ("Map", scale.Model),
                ("Scale in the middle",
                    $"{Numbers.Significant(scale.MmPerPx, 5)} mm/px ({Numbers.Significant(1 / scale.MmPerPx, 4)} px/mm)"),
                ("Made from", scale.Ticks is TicksRecord ticks
                    ? $"{Numbers.Count(ticks.Used.Count)} ticks every {Numbers.Significant(ticks.StepMm, 2)} mm, found in the picture "
                        + $"from {Numbers.Significant(ticks.Used[0].ReadingMm, 6)} mm to {Numbers.Significant(ticks.Used[^1].ReadingMm, 6)} mm"
                    : $"the {Numbers.Count(record.Marks.Count)} marks alone"),
                ("Residuals of the ticks, root mean square",
                    scale.Ticks is TicksRecord used ? $"{Numbers.Significant(used.ResidualRmsMm, 2)} mm" : null),
                ("Residuals of the marks, root mean square",
                    scale.ResidualRmsMm is double rms ? $"{Numbers.Significant(rms, 2)} mm" : null),
                ("Relative standard uncertainty of a length",
                    scale.RelativeUncertainty is double u ? $"{Numbers.Significant(100 * u, 2)} %" : null),
                ("Accuracy class of the ruler", record.Options.RulerClass == "none" ? null : record.Options.RulerClass),
            ]),
            numbering.Place("calibration"),
            Table("Ruler marks: place in the displayed picture, reading, and what the scale leaves over",
                ["Mark", "u / px", "v / px", "Reading / mm", "Residual / mm"],
                record.Marks.Select((m, i) => new object?[]
                {
                    Numbers.Count(i + 1), Numbers.Fixed(m.UPx, 1), Numbers.Fixed(m.VPx, 1), Numbers.Significant(m.ReadingMm, 6),
                    i < scale.ResidualsMm.Count ? Numbers.Fixed(scale.ResidualsMm[i], 3) : "–",
                }), 0, 1, 2, 3, 4));
    }

    /// <summary>How the streak was found; null without a clip.</summary>
    public static XElement? Streak(AnalysisRecord record, FigureNumbering numbering)
    {
        if (record.Result.Streak is not StreakRecord streak)
            return null;
        return Section("streak", "Streak",
            Facts("How the streak was measured",
            [
                ("Colour", streak.Channel),
                ("Spot along the streak, standard deviation", $"{Numbers.Fixed(streak.SpotSigmaPx, 2)} px"),
                ("Band", $"{Numbers.Fixed(streak.BandWidthPx, 0)} px wide, its middle "
                    + $"{Numbers.Fixed(streak.BandOffsetPx, 0)} px from the line through the marks"),
                .. Exposure(streak),
                (record.Photos.Count > 0 ? "Usable photographs" : "Usable frames", $"{Numbers.Count(record.Result.Series.UsableFrames)} of {Numbers.Count(record.Result.Series.Frames)}"),
            ]),
            numbering.Place("estimates"));
    }

    private static IEnumerable<(string Name, string Value)> Exposure(StreakRecord streak)
    {
        if (streak.ExposurePeriods is double periods)
            yield return ("Exposure", $"{Numbers.Fixed(periods, 2)} periods of the oscillation");
        if (streak.AliasFrequencyHz is QuantityRecord alias)
        {
            string folded = Numbers.PlusMinus(alias.Value, alias.StandardUncertainty, "Hz");
            yield return ("Frequency, folded by the frame rate", folded);
        }

        if (streak.FrequencyHz is QuantityRecord frequency)
        {
            yield return ("Frequency that looks so, nearest to the one given",
                Numbers.PlusMinus(frequency.Value, frequency.StandardUncertainty, "Hz"));
        }
    }
}
