using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Core.Records;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>How the report was made, so that it can be made again.</summary>
internal static class MethodSection
{
    private const string Measurement =
        "Every frame was used at its own time from the container. The ends of the streak were found by a threshold first; then the brightness "
        + "along the streak was fitted with the profile of a harmonic motion, which dwells at its turning points, blurred by the spot. "
        + "The turning points were taken to millimetres by the scale of the ruler marks. Half their distance is the amplitude.";

    private const string EnvelopeFit =
        "The envelope was fitted to the amplitudes by least squares. Uncertainties are standard uncertainties unless an interval is given.";

    /// <summary>The section.</summary>
    public static XElement Write(AnalysisRecord record)
    {
        AnalysisOptions options = record.Options;
        return Section("method", "How this was made",
            record.Clip is null ? null : P(Measurement),
            record.Result.Fit is null ? null : P(EnvelopeFit),
            Facts("Settings",
            [
                ("Model asked for", options.Model),
                ("Frequency", options.FrequencyHz is double f ? Given(f, options.FrequencyUncertaintyHz, "Hz") : "not given"),
                ("Distance from mirror to ruler",
                    options.DistanceMm is double d ? Given(d, options.DistanceUncertaintyMm, "mm") : "not given"),
                ("Window asked for", Window(options)),
                ("Switch time", options.SwitchTimeS is double s ? Given(s, options.SwitchTimeUncertaintyS, "s")
                    : options.SwitchTimeSource == "found" ? "found as the change point of the series, then held" : "fitted, where the series shows it"),
                ("Loss asked for", options.Loss),
                ("Seed", record.Result.Fit?.Bootstrap is null && options.MonteCarloTrials is null
                    ? null : options.Seed.ToString(CultureInfo.InvariantCulture)),
                ("Time scale", options.TimeScale == 1 ? null : Numbers.Significant(options.TimeScale, 6)),
                ("Ruler class", options.RulerClass),
                ("Frames left out by hand", options.ExcludedFrames.Count == 0 ? null : Frames(options.ExcludedFrames)),
                ("Why", options.ExclusionReasons.Count == 0 ? null : string.Join("; ",
                    options.ExclusionReasons.OrderBy(r => r.Key).GroupBy(r => r.Value).Select(g => $"{Frames([.. g.Select(r => r.Key)])}: {g.Key}"))),
                ("Threshold of the coarse ends", options.ThresholdFraction == 0.5 ? null : Numbers.Significant(options.ThresholdFraction, 4)),
                ("Band searched", options.BandOffsetPx == 0 && options.BandHalfWidthPx is null
                    ? null
                    : $"{Numbers.Significant(options.BandOffsetPx, 5)} px beside the marks' line, "
                        + (options.BandHalfWidthPx is int half ? $"{Numbers.Count(half)} px to either side" : "a quarter of the picture to either side")),
                ("Reader asked for", record.Clip is null ? null : options.Reader),
            ]),
            Facts("Versions",
            [
                ("Program", $"{record.Program.Name} {record.Program.Version}"),
                ("Runtime", record.Program.Runtime),
                ("Clip reader", record.Program.Reader),
                ("SHA-256 of series.csv", Code(record.Result.Series.Sha256)),
            ]),
            P("The same ", record.Clip is null ? "series" : "clip", " with the settings in record.json gives the same numbers."));
    }

    private static string Given(double value, double uncertainty, string unit) =>
        uncertainty > 0 ? Numbers.PlusMinus(value, uncertainty, unit) : $"{Numbers.Significant(value, 9)} {unit}";

    private static string Window(AnalysisOptions options) => (options.WindowStartS, options.WindowEndS) switch
    {
        (null, null) => "all frames",
        (double from, null) => $"from {Numbers.Significant(from, 6)} s",
        (null, double to) => $"to {Numbers.Significant(to, 6)} s",
        (double from, double to) => $"{Numbers.Significant(from, 6)} s to {Numbers.Significant(to, 6)} s",
    };

    private static string Frames(IReadOnlyList<int> frames) =>
        string.Join(", ", frames.Take(50).Select(f => f.ToString(CultureInfo.InvariantCulture)))
        + (frames.Count > 50 ? $" and {Numbers.Count(frames.Count - 50)} more (see record.json)" : "");
}
