using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Contact;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>The contact sheet: frames with the found ends.</summary>
internal static class ContactSection
{
    /// <summary>The section; null without pictures.</summary>
    public static XElement? Write(ReportContent content) => Write(content.Pictures, content.Series, reading =>
        string.Create(CultureInfo.InvariantCulture, $"Frame {reading.Frame}, {Numbers.Fixed(reading.TimeSeconds, 3)} s"));

    /// <summary>The section; null without pictures.</summary>
    /// <param name="pictures">The pictures.</param>
    /// <param name="series">What was measured in them.</param>
    /// <param name="nameOf">What to call a picture.</param>
    public static XElement? Write(IReadOnlyList<ContactPicture> pictures, AmplitudeSeries series, Func<StreakReading, string> nameOf)
    {
        if (pictures.Count == 0)
            return null;
        Dictionary<int, AmplitudeSample> byFrame = [];
        foreach (AmplitudeSample sample in series)
            byFrame[sample.Frame] = sample;

        // Packing the pictures takes the time that a page takes, and frames know nothing of each other.
        XElement[] frames =
            [.. pictures.AsParallel().AsOrdered().Select(p => Frame(p, nameOf(p.Reading), byFrame.GetValueOrDefault(p.Reading.Frame)))];
        return Section("contact-sheet", "Contact sheet",
            P("White strokes: the turning points from the profile, which are reported. "
                + "Yellow circles: the ends from the threshold, for comparison. Below each frame: both ends enlarged."),
            El("div", "contact", frames));
    }

    private static XElement Frame(ContactPicture picture, string place, AmplitudeSample? sample)
    {
        StreakReading reading = picture.Reading;
        string amplitude = sample is not null && double.IsFinite(sample.AmplitudeMm)
            ? $"{Numbers.PlusMinus(sample.AmplitudeMm, sample.AmplitudeUncertaintyMm, "mm")}"
            : "no amplitude";
        FrameFlags flags = sample?.Flags ?? reading.Flags;
        string remark = flags == FrameFlags.None ? "" : " · " + FlagWording.List(flags);
        return El("figure", null,
            ContactSheet.Draw(picture, string.Create(CultureInfo.InvariantCulture, $"frame-{reading.Frame}"),
                $"{place}: the streak in the picture, with the ends found; {amplitude}."),
            El("figcaption", null, $"{place} · ", El("b", null, amplitude), remark));
    }
}
