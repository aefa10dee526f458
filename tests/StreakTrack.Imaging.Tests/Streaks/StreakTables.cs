using System.Globalization;
using System.Text.Json;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Streaks;

/// <summary>Reads the tables of fixtures/.</summary>
internal static class StreakTables
{
    /// <summary>Rows of numbers of a CSV file with comments and a header.</summary>
    public static double[][] Rows(params string[] path) =>
    [
        .. File.ReadLines(Fixtures.PathOf(path)).Where(line => line.Length > 0 && line[0] != '#').Skip(1)
            .Select(line => line.Split(',').Select(cell => double.Parse(cell, CultureInfo.InvariantCulture)).ToArray()),
    ];

    /// <summary>The brightness column of a simulated streak.</summary>
    public static float[] Light(string name) => [.. Rows("streaks", $"streak_{name}.csv").Select(row => (float)row[1])];

    /// <summary>An unweighted reference fit: parameters background, energy, centre, half_amplitude, spot_sigma.</summary>
    public static (double Estimate, double StandardError) ReferenceFit(string name, string parameter)
    {
        using JsonDocument document = JsonDocument.Parse(File.ReadAllText(Fixtures.PathOf("streaks", "streaks.json")));
        JsonElement fit = document.RootElement.GetProperty(name).GetProperty("unweighted");
        return (Of("estimate"), Of("se_scaled"));

        double Of(string what) => fit.GetProperty(what).GetProperty(parameter).GetDouble();
    }

    /// <summary>A response of 1 everywhere.</summary>
    public static float[] Even(int length)
    {
        float[] even = new float[length];
        Array.Fill(even, 1f);
        return even;
    }

    /// <summary>Normal deviates by Box and Muller's method.</summary>
    public static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
