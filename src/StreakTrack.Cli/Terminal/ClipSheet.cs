using System.Globalization;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Cli.Terminal;

/// <summary>The facts of a clip in a few lines for people.</summary>
internal static class ClipSheet
{
    /// <summary>Writes the sheet.</summary>
    public static void Write(ClipFacts facts, FrameTimes times, TextWriter output)
    {
        int count = times.TimesSeconds.Count;
        Line("file", Invariant($"{facts.Path} ({facts.Bytes} bytes)"));
        Line("container", facts.Container);
        Line("codec", Invariant($"{facts.Codec}, {facts.PixelFormat}, {facts.BitDepth} bit"));
        Line("colour", Invariant(
            $"{facts.Colour.Matrix}, {(facts.Colour.FullRange ? "full" : "limited")} range, {facts.Colour.Transfer}{(facts.Colour.Assumed ? " (assumed)" : "")}"));
        Line("picture", Invariant($"{facts.Orientation.DisplayWidth} x {facts.Orientation.DisplayHeight} as displayed"));
        Line("stored", Invariant($"{facts.Orientation.CodedWidth} x {facts.Orientation.CodedHeight}, {Turn(facts.Orientation)}"));
        Line("frames", times.ReaderName is null
            ? Invariant($"{count} by the file's index; --decode reads and counts them")
            : Invariant($"{count} decoded, {times.LostFrames} lost"));
        if (count > 0)
            Line("time", Invariant($"{times.TimesSeconds[0]:0.0000} s to {times.TimesSeconds[^1]:0.0000} s"));
        if (count > 1)
        {
            double median = times.MedianSpacingSeconds;
            Line("rate", Invariant($"{1 / median:0.###} frames a second (median spacing {1000 * median:0.###} ms)"));
            Line("spacing", Invariant($"{1000 * times.MinSpacingSeconds:0.###} ms to {1000 * times.MaxSpacingSeconds:0.###} ms"));
        }

        if (times.ReaderName is { } reader)
            Line("reader", reader);
        foreach (Core.Findings.Finding finding in facts.Findings)
            Line(finding.Severity.ToString().ToLowerInvariant(), $"{finding.Code}: {finding.Message}");

        void Line(string name, string value) => output.WriteLine($"{name,-10} {value}");
    }

    private static string Turn(DisplayOrientation orientation)
    {
        bool mirrored = (orientation.XX * orientation.YY) - (orientation.XY * orientation.YX) < 0;
        int degrees = (orientation.XX, orientation.YX) switch
        {
            (1, 0) => 0,
            (0, 1) => 90,
            (-1, 0) => 180,
            _ => 270,
        };
        return (degrees, mirrored) switch
        {
            (0, false) => "shown as stored",
            (_, false) => Invariant($"turned by {degrees} degrees clockwise for display"),
            _ => "mirrored for display",
        };
    }

    private static string Invariant(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
