using System.Globalization;
using StreakTrack.Core.Scale;
using StreakTrack.Synthesis.Rendering;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Output;

/// <summary>A resonance curve photographed point by point, with its marks, its table and its truth.</summary>
/// <param name="Paths">The photographs, one a drive frequency, in the order of these.</param>
/// <param name="FrequenciesHz">The drive frequencies.</param>
/// <param name="AmplitudesMm">True amplitude of the streak in each, in the middle of its exposure.</param>
/// <param name="Marks">Marks in the first photograph.</param>
/// <param name="MarksPath"><c>marks.csv</c>.</param>
/// <param name="TablePath"><c>drive.csv</c>: the photographs with their drive frequencies.</param>
public sealed record SimulatedPhotos(
    IReadOnlyList<string> Paths, IReadOnlyList<double> FrequenciesHz, IReadOnlyList<double> AmplitudesMm, IReadOnlyList<RulerMark> Marks,
    string MarksPath, string TablePath)
{
    /// <summary>Takes one photograph at the end of each step of a sweep and writes them with their marks and table; existing ones are replaced.</summary>
    /// <param name="scenario">A stepped sweep, whose steps are long enough to settle.</param>
    /// <param name="folder">The folder; created where missing.</param>
    /// <param name="settings">How each photograph is stored, by its number from 0; null for the defaults.</param>
    /// <param name="extension">Ending of the names: ".jpg" or ".png".</param>
    /// <exception cref="ArgumentException">The scenario is no sweep, or a step holds no frame.</exception>
    /// <exception cref="IOException">A file could not be written.</exception>
    public static SimulatedPhotos Write(
        ClipScenario scenario, string folder, Func<int, PhotoSettings>? settings = null, string extension = ".jpg")
    {
        if (scenario.Motion is not SteppedSweepMotion sweep)
            throw new ArgumentException("Only a stepped sweep is a curve to be photographed.", nameof(scenario));
        var renderer = new ClipRenderer(scenario);
        Directory.CreateDirectory(folder);
        int count = sweep.DriveFrequenciesHz.Count;
        string[] paths = new string[count];
        double[] amplitudes = new double[count];
        FrameExposure first = default;
        using (var table = new StreamWriter(Path.Combine(folder, "drive.csv")))
        {
            table.Write("photo,frequency_hz\r\n");
            for (int k = 0; k < count; k++)
            {
                double end = (k + 1) * sweep.HoldSeconds;
                int frame = Enumerable.Range(0, renderer.Frames.Count)
                    .LastOrDefault(f => renderer.Frames[f].TimeSeconds + renderer.Frames[f].ExposureSeconds <= end && renderer.Frames[f].TimeSeconds >= end - sweep.HoldSeconds, -1);
                if (frame < 0)
                    throw new ArgumentException($"Step {k + 1} holds no frame.", nameof(scenario));
                FrameExposure exposure = renderer.Frames[frame];
                first = k == 0 ? exposure : first;
                string name = string.Create(CultureInfo.InvariantCulture, $"p{k + 1}{extension}");
                paths[k] = Path.Combine(folder, name);
                amplitudes[k] = renderer.Path.AmplitudeMm(exposure.TimeSeconds + (exposure.ExposureSeconds / 2));
                PhotoWriter.Write(renderer, frame, paths[k], settings?.Invoke(k));
                table.Write(string.Create(CultureInfo.InvariantCulture, $"{name},{sweep.DriveFrequenciesHz[k]:R}\r\n"));
            }
        }

        // Clicks are made in the clip's first frame; the first photograph may show the ruler elsewhere.
        RulerMark[] marks =
        [
            .. MarkClicker.Click(renderer).Select(m => m with { Point = new PicturePoint(m.Point.UPx + first.ShiftUPx, m.Point.VPx + first.ShiftVPx) }),
        ];
        string marksPath = Path.Combine(folder, "marks.csv");
        using (var text = new StreamWriter(marksPath))
            MarksCsv.Write(text, marks);
        return new SimulatedPhotos(paths, sweep.DriveFrequenciesHz, amplitudes, marks, marksPath, Path.Combine(folder, "drive.csv"));
    }
}
