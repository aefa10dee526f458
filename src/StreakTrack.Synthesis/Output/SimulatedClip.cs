using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using StreakTrack.Core.Scale;
using StreakTrack.Synthesis.Rendering;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Output;

/// <summary>A clip with its marks and its truth, written to a folder.</summary>
/// <param name="ClipPath">The clip.</param>
/// <param name="MarksPath"><c>marks.csv</c>: what a person would have clicked.</param>
/// <param name="TruthPath"><c>truth.json</c>.</param>
/// <param name="TruthSha256">SHA-256 of <c>truth.json</c>, lower-case hexadecimal: shows later that the file was not changed.</param>
/// <param name="Marks">The marks as written.</param>
/// <param name="Truth">The truth as written.</param>
public sealed record SimulatedClip(
    string ClipPath, string MarksPath, string TruthPath, string TruthSha256, IReadOnlyList<RulerMark> Marks, ClipTruth Truth)
{
    /// <summary>Renders a scenario and writes <c>clip.mp4</c> (or <c>.mov</c>), <c>marks.csv</c> and <c>truth.json</c>; existing ones are
    /// replaced, each only when the new one is complete.</summary>
    /// <param name="scenario">The scenario.</param>
    /// <param name="folder">The folder; created where missing.</param>
    /// <param name="options">How the clip is encoded; null for the defaults.</param>
    /// <param name="progress">Told the share done, 0 to 1.</param>
    /// <param name="cancellation">Ends the work.</param>
    /// <exception cref="ArgumentException">The scenario's parts do not go together.</exception>
    /// <exception cref="Imaging.Clips.MissingComponentException">The encoder is missing, or the one that is there cannot write what the
    /// scenario asks for.</exception>
    /// <exception cref="IOException">A file could not be written.</exception>
    public static SimulatedClip Write(
        ClipScenario scenario, string folder, ClipWriterOptions? options = null, IProgress<double>? progress = null,
        CancellationToken cancellation = default)
    {
        options ??= new ClipWriterOptions();
        var renderer = new ClipRenderer(scenario);
        Directory.CreateDirectory(folder);
        (string clip, string encoder) = ClipWriter.Write(renderer, folder, "clip", options, progress, cancellation);

        IReadOnlyList<RulerMark> marks = [.. MarkClicker.Click(renderer).Select(Printed)];
        string marksPath = Path.Combine(folder, "marks.csv");
        WriteText(marksPath, MarksCsv(marks));

        ClipTruth truth = TruthBuilder.Build(renderer, Path.GetFileName(clip), encoder) with { Salt = options.TruthSalt };
        string truthFolder = options.TruthFolder ?? folder, truthPath = Path.Combine(truthFolder, "truth.json");
        string truthText = JsonSerializer.Serialize(truth, ClipTruthJsonContext.Default.ClipTruth) + "\n";
        Directory.CreateDirectory(truthFolder);
        WriteText(truthPath, truthText);
        string hash = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(truthText)));
        return new SimulatedClip(clip, marksPath, truthPath, hash, marks, truth);
    }

    /// <summary>A mark with the digits that the file has, so that what is returned is what can be read.</summary>
    private static RulerMark Printed(RulerMark mark) =>
        mark with { Point = new PicturePoint(Math.Round(mark.Point.UPx, 3), Math.Round(mark.Point.VPx, 3)) };

    private static string MarksCsv(IReadOnlyList<RulerMark> marks)
    {
        var text = new StringBuilder("u_px,v_px,reading_mm\r\n");
        foreach (RulerMark mark in marks)
            text.Append(CultureInfo.InvariantCulture, $"{mark.Point.UPx:0.###},{mark.Point.VPx:0.###},{mark.ReadingMm:0.######}\r\n");
        return text.ToString();
    }

    private static void WriteText(string path, string text)
    {
        string partial = path + ".partial";
        File.WriteAllText(partial, text);
        File.Move(partial, path, overwrite: true);
    }
}
