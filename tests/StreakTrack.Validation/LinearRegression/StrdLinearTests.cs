using System.Globalization;
using StreakTrack.Core.Studies;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Validation.LinearRegression;

/// <summary>NIST StRD linear regression: the sets that are straight lines (fixtures/nist-strd/linear, certified values in the
/// files).</summary>
public class StrdLinearTests
{
    // Tolerance: 12 certified digits. The values are certified to 15; double arithmetic on these sets loses two or three.
    [Theory]
    [InlineData("Norris", false, 36)]
    [InlineData("NoInt1", true, 11)]
    [InlineData("NoInt2", true, 3)]
    public void Straight_line_sets_are_reproduced(string name, bool throughOrigin, int observations)
    {
        string[] lines = File.ReadAllLines(Fixtures.PathOf("nist-strd", "linear", name + ".dat"));
        LinePoint[] points =
        [
            .. lines.Skip(60).Select(Numbers).Where(row => row.Length == 2).Select(row => new LinePoint(row[1], row[0])),
        ];
        Assert.Equal(observations, points.Length);

        StraightLine line = StraightLineFitter.Fit(points, new StraightLineOptions { ThroughOrigin = throughOrigin });
        AssertDigits(Certified("B1", 0), line.Slope.Value);
        AssertDigits(Certified("B1", 1), line.Slope.StandardUncertainty);
        if (!throughOrigin)
        {
            AssertDigits(Certified("B0", 0), line.Intercept.Value);
            AssertDigits(Certified("B0", 1), line.Intercept.StandardUncertainty);
        }

        double deviation = Numbers(lines.Single(l => l.Contains("Standard Deviation   ", StringComparison.Ordinal)
            && l.Trim().Length > 30)["     Standard Deviation".Length..])[0];
        AssertDigits(deviation, line.ResidualDeviation);

        double Certified(string parameter, int column) =>
            Numbers(lines.First(l => l.TrimStart().StartsWith(parameter + " ", StringComparison.Ordinal)).Trim()[parameter.Length..])[column];

        static void AssertDigits(double expected, double actual) => Assert.Equal(expected, actual, 1e-12 * Math.Abs(expected));
    }

    private static double[] Numbers(string text)
    {
        string[] cells = text.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        return cells.All(c => double.TryParse(c, NumberStyles.Float, CultureInfo.InvariantCulture, out _))
            ? [.. cells.Select(c => double.Parse(c, CultureInfo.InvariantCulture))]
            : [];
    }
}
