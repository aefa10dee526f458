using System.Globalization;
using System.Text;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;

namespace StreakTrack.Benchmarks;

/// <summary>Measures every clip of the fixtures with both readers and writes docs/readers.md.</summary>
internal static class ReaderComparison
{
    /// <summary>Measures and writes.</summary>
    /// <param name="repositoryRoot">The repository.</param>
    public static void Run(string repositoryRoot)
    {
        var text = new StringBuilder();
        text.AppendLine("""
            # The two clip readers, compared

            Written by `dotnet run --project tests/StreakTrack.Benchmarks -c Release -- readers`; numbers here are never edited by hand.

            Each clip of `fixtures/clips` is analysed with the ffmpeg program and with the embedded decoder, all else alike. *Time* is the largest
            difference of a frame's time. *Amplitude* is the difference embedded - ffmpeg over the frames usable in both: its mean, its root mean
            square, and the share of frames in which it is within twice the combined standard uncertainty of the two readings. *tau* is the decay
            time found, and the difference in units of its combined standard uncertainty. Both readers see the same frames, so that what
            remains is systematic: nothing of it is due to chance.

            | clip | frames | time, ms | channel | amplitude: mean, mm | rms, mm | within 2 u | tau, s: ffmpeg | embedded | difference / u |
            |---|---|---|---|---|---|---|---|---|---|
            """);
        foreach (string folder in Directory.EnumerateDirectories(Path.Combine(repositoryRoot, "fixtures", "clips")).Order(StringComparer.Ordinal))
        {
            Console.Error.WriteLine(folder);
            text.AppendLine(Row(folder));
        }

        text.AppendLine("""

            ## Where they differ, and why

            - **Colour matrix.** The embedded decoder turns every picture into blue, green and red with the matrix of ITU-R BT.601 and limited
              range (full range only for 8-bit streams that say so), whatever the stream says. Phones film BT.709 (8 bits) or BT.2020 (10 bits). A matrix is
              undone exactly by another one on gamma-coded values as long as nothing was cut off on the way, and the program does so. A saturated laser
              colour is cut off: pure red of BT.709 becomes (231, 0, 1) because its green falls below 0. What was cut off is gone. A code of 255 in
              the measured channel counts as clipped, although the stream's own code may not have been: this leaves out samples that the ffmpeg reader uses.
            - **Depth.** The embedded decoder delivers 8 bits a sample; a 10-bit clip loses the last two bits, and a finding says so.
            - **Colour resolution.** Colour samples are stored at half resolution. From the ffmpeg program's planes they are interpolated at the
              places where the stream puts them; the embedded decoder repeats them, which displaces a colour channel by up to half a pixel.
              Ruler marks are read in the picture, so this moves a whole streak, not its length.
            - **Rounding.** The embedded decoder's conversion is up to 3 codes off on the way to BGR and back.
            - **Channel.** Where a beam shows in two channels about equally well, cut colours can make the other one the better one.
            - **Which frames show the scene without the streak** is chosen by each reader in its own way (key frames by the program, seeking by the
              embedded decoder), so ambient light and thresholds differ a little.

            The ffmpeg reader is taken where the program is installed. A grader who compares numbers uses the same reader as the record names.
            """);
        string page = text.ToString();
        File.WriteAllText(Path.Combine(repositoryRoot, "docs", "readers.md"), page);
        Console.Write(page);
    }

    private static string Row(string folder)
    {
        ClipAnalysis? program = Analyse(folder, "ffmpeg"), embedded = Analyse(folder, "embedded");
        if (program is null || embedded is null)
            return $"| {Path.GetFileName(folder)} | {(program is null ? "not measured by the ffmpeg reader" : "not measured by the embedded reader")} | | | | | | | | |";
        int count = Math.Min(program.Series.Count, embedded.Series.Count), compared = 0, within = 0;
        double time = 0, sum = 0, squares = 0;
        for (int i = 0; i < count; i++)
        {
            AmplitudeSample one = program.Series[i], other = embedded.Series[i];
            time = Math.Max(time, Math.Abs(one.TimeSeconds - other.TimeSeconds));
            if (!one.IsUsable || !other.IsUsable)
                continue;
            double difference = other.AmplitudeMm - one.AmplitudeMm;
            sum += difference;
            squares += difference * difference;
            compared++;
            within += Math.Abs(difference) <= 2 * double.Hypot(one.AmplitudeUncertaintyMm, other.AmplitudeUncertaintyMm) ? 1 : 0;
        }

        string frames = program.Series.Count == embedded.Series.Count
            ? $"{program.Series.Count}" : $"{program.Series.Count} / {embedded.Series.Count}";
        string channel = program.Measurement.Channel == embedded.Measurement.Channel
            ? $"{program.Measurement.Channel}" : $"{program.Measurement.Channel} / {embedded.Measurement.Channel}";
        (double Tau, double U)? a = TauOf(program), b = TauOf(embedded);
        string tau = a is (double t1, double u1) && b is (double t2, double u2)
            ? Text($"{t1:0.0000} | {t2:0.0000} | {(t2 - t1) / double.Hypot(u1, u2):+0.00;-0.00}") : "none | none | ";
        return Text($"| {Path.GetFileName(folder)} | {frames} | {1000 * time:0.0000} | {channel.ToLowerInvariant()} | {sum / compared:+0.0000;-0.0000} | {Math.Sqrt(squares / compared):0.0000} | {100.0 * within / compared:0.0} % | {tau} |");
    }

    private static ClipAnalysis? Analyse(string folder, string reader)
    {
        IReadOnlyList<RulerMark> marks = MarksCsv.Read(Path.Combine(folder, "marks.csv"));
        string clip = Directory.EnumerateFiles(folder, "clip.*").First();
        try
        {
            return ClipAnalyzer.Analyze(clip, marks, new AnalysisOptions { Reader = reader });
        }
        catch (Core.UnusableInputException e)
        {
            Console.Error.WriteLine($"{reader}: {e.Message}");
            return null;
        }
    }

    private static (double Tau, double U)? TauOf(ClipAnalysis analysis) =>
        analysis.Record.Result.Fit is FitRecord fit && fit.Parameters.TryGetValue("tau_s", out ParameterRecord? tau)
            && tau is { Value: double value, StandardUncertainty: double u } ? (value, u) : null;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
