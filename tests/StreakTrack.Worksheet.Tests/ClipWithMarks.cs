using System.Globalization;
using System.Text.Json.Nodes;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Worksheet.Tests;

/// <summary>A fixture clip with the marks that its folder gives, as the page sends them.</summary>
internal sealed class ClipWithMarks
{
    public ClipWithMarks(string name)
    {
        string folder = Fixtures.PathOf("clips", name);
        Path = Directory.GetFiles(folder, "clip.*").Single();
        Marks =
        [
            .. File.ReadLines(System.IO.Path.Combine(folder, "marks.csv")).Skip(1).Where(line => line.Length > 0)
                .Select(line => line.Split(',').Select(n => double.Parse(n, CultureInfo.InvariantCulture)).ToArray()),
        ];
    }

    public string Path { get; }

    public IReadOnlyList<double[]> Marks { get; }

    /// <summary>The request that sets the marks, all readings shifted.</summary>
    public JsonObject MarksRequest(double shiftMm = 0) => new()
    {
        ["marks"] = new JsonArray(
        [
            .. Marks.Select(m => (JsonNode)new JsonObject { ["u_px"] = m[0], ["v_px"] = m[1], ["reading_mm"] = m[2] + shiftMm }),
        ]),
    };
}
