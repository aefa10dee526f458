using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Pages;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Photos;

/// <summary>The report of a series of photographs as one page that needs nothing beside it.</summary>
internal static class PhotoPage
{
    private const string Method =
        "The photographs were turned upright by their orientation tag and measured together as the pictures of one series. The ruler of each was laid "
        + "over that of the first, to which the marks belong. The ends of the streak were found by a threshold first; then the brightness along the "
        + "streak was fitted with the profile of a harmonic motion, which dwells at its turning points, blurred by a spot whose width all photographs share. The "
        + "turning points were taken to millimetres by the scale of the ruler. Half their distance is the amplitude.";

    private const string Uncertainties =
        "All uncertainties are standard uncertainties. That of a single photograph holds the fit's and what texture and speckle do to an end; the combined "
        + "one also holds what all photographs share: the scale, the ruler's class, and an offset from the shape of the spot.";

    /// <summary>The page.</summary>
    /// <param name="content">What to report.</param>
    /// <param name="figures">The figures, by name.</param>
    public static string Write(PhotoContent content, IReadOnlyDictionary<string, Figure> figures)
    {
        AnalysisRecord record = content.Record;
        var numbering = new FigureNumbering(figures);
        IReadOnlyList<PhotoResultRecord> photos = record.Result.Photos;
        bool curve = photos.Any(p => p.Usable && p.FrequencyHz is not null);
        return PageFrame.Write(
            "Amplitude of a laser streak in photographs",
            photos.Count == 1 ? photos[0].File : string.Create(CultureInfo.InvariantCulture, $"{photos.Count} photographs, {photos[0].File} to {photos[^1].File}"),
            $"Made by {record.Program.Name} {record.Program.Version}. The files {ReportFolder.RecordFile}, {PhotoFolder.PhotosFile}"
                + $"{(curve ? ", " + PhotoFolder.CurveFile : "")} and {ReportFolder.PackageFile} beside this page hold the same results for other programs.",
            Section("result", "Result",
                El("div", "result", Main(photos)),
                FindingsSection.Notice(record.Result.Findings),
                Table(photos, record.Options.DistanceMm is not null),
                curve ? P("The points for a resonance study are in ", Code(PhotoFolder.CurveFile), ": ", Code($"streaktrack resonance {PhotoFolder.CurveFile} --out DIR"), ".") : null),
            Section("figures", "Amplitudes", numbering.Place("photos")),
            MeasurementSection.Ruler(record, numbering),
            MeasurementSection.Streak(record, numbering),
            ContactSection.Write(content.Pictures, content.Series, reading => photos[reading.Frame].File),
            FindingsSection.Write(record.Result.Findings),
            MethodOf(record),
            SafetySection.Write("When you photograph again: safety"));
    }

    private static IEnumerable<XElement> Main(IReadOnlyList<PhotoResultRecord> photos)
    {
        PhotoResultRecord[] usable = [.. photos.Where(p => p.Usable)];
        if (usable.Length == 0)
        {
            yield return P(El("b", null, "No photograph shows a streak whose length can be used."));
            yield break;
        }

        PhotoResultRecord largest = usable.MaxBy(p => p.AmplitudeMm)!;
        yield return P(photos.Count == 1
            ? "Amplitude:"
            : string.Create(CultureInfo.InvariantCulture, $"Largest amplitude, in {largest.File}{(largest.FrequencyHz is double f ? $" at {Numbers.Significant(f, 7)} Hz" : "")}:"));
        yield return El("p", "value", Numbers.PlusMinus(largest.AmplitudeMm!.Value, largest.CombinedUncertaintyMm, "mm"));
        yield return P(El("span", "small", "The number after ± is one combined standard uncertainty."));
        if (photos.Count > 1)
        {
            yield return P(string.Create(CultureInfo.InvariantCulture,
                $"{usable.Length} of {photos.Count} photographs have an amplitude that can be used; the smallest is {Numbers.Fixed(usable.Min(p => p.AmplitudeMm!.Value), 2)} mm."));
        }
    }

    private static XElement Table(IReadOnlyList<PhotoResultRecord> photos, bool mirror) => Html.Table(
        "Length and amplitude in each photograph, in mm: by the profile with its combined standard uncertainty, the part of that uncertainty that is the "
            + "photograph's own, and the amplitude by the threshold alone; and the exposure in periods of the oscillation" + (mirror ? ", and the mirror's amplitude in mrad" : ""),
        [
            "Photograph", "Drive / Hz", "Periods", "Length", "Amplitude", "Own u", "Threshold", .. mirror ? (object[])["mrad"] : [], "Remark",
        ],
        photos.Select(p => (IReadOnlyList<object?>)
        [
            p.File,
            p.FrequencyHz is double f ? Numbers.Significant(f, 7) : "–",
            p.ExposurePeriods is double n ? Numbers.Significant(n, 3) : p.ExposureS is null ? "not stated" : "–",
            p.LengthMm is double length ? Numbers.Fixed(length, 2) : "–",
            p.AmplitudeMm is double a ? Numbers.PlusMinus(a, p.CombinedUncertaintyMm) : "–",
            p.AmplitudeUncertaintyMm is double u ? Numbers.Significant(u, 2) : "–",
            p.ThresholdAmplitudeMm is double t ? Numbers.Fixed(t, 2) : "–",
            .. mirror ? (object?[])[p.AmplitudeMrad is double angle ? Numbers.Fixed(angle, 3) : "–"] : [],
            FlagWording.List(FlagsOf(p)) + (p.Usable ? "" : p.Flags.Count == 0 ? "not used" : "; not used"),
        ]),
        mirror ? [1, 2, 3, 4, 5, 6, 7] : [1, 2, 3, 4, 5, 6]);

    private static FrameFlags FlagsOf(PhotoResultRecord photo) =>
        photo.Flags.Aggregate(FrameFlags.None, (flags, name) => flags | (Enum.TryParse(name, out FrameFlags flag) ? flag : FrameFlags.None));

    private static XElement MethodOf(AnalysisRecord record)
    {
        AnalysisOptions options = record.Options;
        return Section("method", "How this was made",
            P(Method),
            P(Uncertainties),
            Facts("Settings",
            [
                ("Frequency for all", options.FrequencyHz is double f ? $"{Numbers.Significant(f, 9)} Hz" : null),
                ("Distance from mirror to ruler", options.DistanceMm is double d ? $"{Numbers.Significant(d, 9)} mm" : "not given"),
                ("Ruler class", options.RulerClass),
                ("Scale from the ruler's ticks", options.Ticks),
                ("Threshold of the coarse ends", Numbers.Significant(options.ThresholdFraction, 4)),
            ]),
            Html.Table("The photographs", ["Photograph", "Format", "Upright picture / px", "Orientation tag", "SHA-256"],
                record.Photos.Select(p => new object?[]
                {
                    p.File, p.Format, string.Create(CultureInfo.InvariantCulture, $"{p.WidthPx} × {p.HeightPx}"),
                    Numbers.Count(p.Orientation), Code(p.Sha256),
                }), 2, 3),
            Facts("Versions",
            [
                ("Program", $"{record.Program.Name} {record.Program.Version}"),
                ("Runtime", record.Program.Runtime),
                ("Picture reader", record.Program.Reader),
                ("SHA-256 of " + PhotoFolder.PhotosFile, Code(record.Result.Series.Sha256)),
            ]),
            P("The same photographs with the settings in record.json give the same numbers."));
    }
}
