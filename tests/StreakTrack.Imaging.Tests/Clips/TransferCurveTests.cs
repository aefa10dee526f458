using System.Globalization;
using StreakTrack.Imaging.Clips;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Clips;

public class TransferCurveTests
{
    // Columns of fixtures/reference/tables/transfer_functions.csv, computed there with 40 digits.
    [Theory]
    [InlineData(TransferFunction.Bt709, 1, 1.5e-4)]   // the table has the printed 1.099 and 0.018, the code 1.0993 and 0.01805
    [InlineData(TransferFunction.Srgb, 2, 1e-6)]   // the standard's printed constants leave the two branches 1e-7 apart where they meet
    [InlineData(TransferFunction.Hlg, 3, 1e-8)]    // the standard prints c with eight digits
    public void Light_is_what_the_published_curve_encodes(TransferFunction transfer, int column, double tolerance)
    {
        foreach (double[] row in File.ReadLines(Fixtures.PathOf("reference", "tables", "transfer_functions.csv"))
            .Where(line => char.IsAsciiDigit(line[0]))
            .Select(line => line.Split(',').Select(cell => double.Parse(cell, CultureInfo.InvariantCulture)).ToArray()))
        {
            Assert.Equal(row[0], TransferCurve.ToLight(transfer, row[column]), tolerance);
            Assert.Equal(-row[0], TransferCurve.ToLight(transfer, -row[column]), tolerance);
        }
    }

    // SMPTE ST 2084: code 0.508 is about 100 cd/m2 and code 0.751 about 1000 cd/m2 of 10 000 (from memory; BT.2408 prints 51 % and 75 %).
    [Theory]
    [InlineData(0.508, 0.01, 1e-4)]
    [InlineData(0.751, 0.1, 1e-3)]
    [InlineData(1, 1, 1e-12)]
    public void Perceptual_quantiser_gives_known_luminances(double code, double light, double tolerance) =>
        Assert.Equal(light, TransferCurve.ToLight(TransferFunction.Pq, code), tolerance);
}
