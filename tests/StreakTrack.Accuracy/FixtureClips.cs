using System.Text.Json;
using StreakTrack.Core.Scale;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Accuracy;

/// <summary>The clips under <c>fixtures/clips</c>, which an independent simulator made.</summary>
internal static class FixtureClips
{
    /// <summary>All of them, by name.</summary>
    public static IReadOnlyList<TrueClip> All() =>
        [.. Directory.GetDirectories(Fixtures.PathOf("clips")).Order(StringComparer.Ordinal).Select(Read)];

    private static TrueClip Read(string folder)
    {
        using JsonDocument truth = JsonDocument.Parse(File.ReadAllText(Path.Combine(folder, "truth.json")));
        JsonElement root = truth.RootElement, oscillator = root.GetProperty("oscillator");
        return new TrueClip(
            "fixture",
            Path.GetFileName(folder),
            Directory.GetFiles(folder, "clip.*").Single(),
            MarksCsv.Read(Path.Combine(folder, "marks.csv")),
            oscillator.GetProperty("tau_s").GetDouble(),
            oscillator.GetProperty("f0_hz").GetDouble(),
            root.GetProperty("L_mm").GetDouble(),
            [.. root.GetProperty("frames").EnumerateArray().Select(f => f.GetProperty("A_mm").GetDouble())],
            root.GetProperty("parameters").GetProperty("optics").GetProperty("sigma_x_mm").GetDouble());
    }
}
