using System.Globalization;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Synthesis.Tests;

/// <summary>Rows of a reference table; lines beginning with # and the header are left out.</summary>
internal static class ReferenceTable
{
    public static IReadOnlyList<double[]> Rows(params string[] parts) =>
        [.. File.ReadLines(Fixtures.PathOf(["reference", .. parts]))
            .Where(line => line.Length > 0 && line[0] != '#')
            .Skip(1)
            .Select(line => line.Split(',').Select(cell => double.Parse(cell, CultureInfo.InvariantCulture)).ToArray())];
}
