using System.Globalization;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Cli.Terminal;

/// <summary>The results of an analysis in a few lines for people.</summary>
internal static class Summary
{
    /// <summary>Writes the summary.</summary>
    /// <param name="record">The analysis.</param>
    /// <param name="reportPath">Where its report is.</param>
    /// <param name="output">Where to write.</param>
    public static void Write(AnalysisRecord record, string reportPath, TextWriter output)
    {
        if (record.Clip is ClipRecord clip)
        {
            output.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{clip.File}: {clip.Frames} frames, {clip.LastTimeS - clip.FirstTimeS:0.00} s, {clip.WidthPx} x {clip.HeightPx}"));
        }

        if (record.Result.Fit is FitRecord fit)
        {
            output.WriteLine($"{fit.Model}: {fit.Statement}");
            foreach ((string name, ParameterRecord parameter) in fit.Parameters)
                WriteQuantity(output, name, parameter.Value, parameter.StandardUncertainty);
            foreach ((string name, QuantityRecord quantity) in record.Result.Oscillator)
                WriteQuantity(output, name, quantity.Value, quantity.StandardUncertainty);
        }

        if (record.Result.Sweep is SweepRecord sweep)
        {
            output.WriteLine($"sweep: {sweep.Statement}");
            foreach ((string name, QuantityWithInterval quantity) in sweep.Parameters)
                WriteQuantity(output, name, quantity.Value, quantity.StandardUncertainty);
        }

        WriteFindings(record, output);
        output.WriteLine("report: " + reportPath);
    }

    /// <summary>Writes the summary of photographs.</summary>
    /// <param name="record">The analysis.</param>
    /// <param name="reportPath">Where its report is.</param>
    /// <param name="output">Where to write.</param>
    public static void WritePhotos(AnalysisRecord record, string reportPath, TextWriter output)
    {
        int width = Math.Min(40, record.Result.Photos.Max(p => p.File.Length));
        foreach (PhotoResultRecord photo in record.Result.Photos)
        {
            string frequency = photo.FrequencyHz is double hz ? string.Create(CultureInfo.InvariantCulture, $"{hz,10:0.000} Hz") : "";
            string amplitude = photo.AmplitudeMm is double mm
                ? string.Create(CultureInfo.InvariantCulture, $"{mm,9:0.000} mm, u = {photo.CombinedUncertaintyMm:0.000} mm, by threshold {photo.ThresholdAmplitudeMm:0.000} mm")
                : "no amplitude";
            string flags = photo.Flags.Count == 0 ? "" : $"  ({string.Join(", ", photo.Flags)}{(photo.Usable ? "" : "; not used")})";
            output.WriteLine($"{photo.File.PadRight(width)}{frequency}  {amplitude}{flags}");
        }

        WriteFindings(record, output);
        output.WriteLine("report: " + reportPath);
    }

    private static void WriteFindings(AnalysisRecord record, TextWriter output)
    {
        foreach (Finding finding in record.Result.Findings)
        {
            output.WriteLine($"{finding.Severity.ToString().ToLowerInvariant()} {finding.Code}: {finding.Message}");
            if (finding.Severity != FindingSeverity.Info)
                output.WriteLine("    " + finding.Advice);
        }
    }

    private static void WriteQuantity(TextWriter output, string name, double value, double? standardUncertainty) =>
        output.WriteLine($"  {name,-30} {Notation.Concise(new UncertainValue(value, standardUncertainty ?? double.NaN))}");
}
