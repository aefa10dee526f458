using System.Text.Json;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Cli.Tests;

/// <summary>A fixture clip and what is true of it.</summary>
internal sealed class ClipWithTruth
{
    private readonly JsonElement _truth;

    public ClipWithTruth(string name)
    {
        string folder = Fixtures.PathOf("clips", name);
        Path = Directory.GetFiles(folder, "clip.*").Single();
        Marks = System.IO.Path.Combine(folder, "marks.csv");
        using JsonDocument document = JsonDocument.Parse(File.ReadAllText(System.IO.Path.Combine(folder, "truth.json")));
        _truth = document.RootElement.Clone();
    }

    public string Path { get; }

    public string Marks { get; }

    public double TauSeconds => _truth.GetProperty("oscillator").GetProperty("tau_s").GetDouble();

    public double FrequencyHz => _truth.GetProperty("oscillator").GetProperty("f0_hz").GetDouble();

    public double DistanceMm => _truth.GetProperty("L_mm").GetDouble();

    public double DetuningHz => _truth.GetProperty("oscillator").GetProperty("fd_hz").GetDouble() - FrequencyHz;

    public double[] AmplitudesMm => Column("A_mm");

    public double[] TimesSeconds => Column("pts");

    private double[] Column(string name) => [.. _truth.GetProperty("frames").EnumerateArray().Select(f => f.GetProperty(name).GetDouble())];
}
