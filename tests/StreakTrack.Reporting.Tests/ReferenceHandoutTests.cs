using StreakTrack.Core.References;
using StreakTrack.Reporting.References;

namespace StreakTrack.Reporting.Tests;

public class ReferenceHandoutTests
{
    [Fact]
    public void Degrees_of_freedom_are_written_out_however_many()
    {
        // Four runs have three degrees of freedom; what they have in common, sure as it is, makes them many more.
        double[] taus = [2.00, 2.01, 1.99, 2.02];
        InstrumentReference reference = Of([.. taus.Select((t, i) => Run(t, 0.0001, 0.035, i))]);
        Assert.InRange(reference.Settings[0].DegreesOfFreedom!.Value, 100, 1000);

        using TemporaryFolder folder = new();
        ReferenceFolder.Write(reference, folder.Path);

        Assert.Contains($", {reference.Settings[0].DegreesOfFreedom:0} effective degrees of freedom, ", File.ReadAllText(folder.Of("handout.html")), StringComparison.Ordinal);
    }

    [Fact]
    public void A_tolerance_down_to_zero_begins_at_the_first_amplitude_and_is_over_at_once()
    {
        // Two runs that differ: the factor of one degree of freedom takes the tolerance below zero, where it is cut.
        InstrumentReference reference = Of([Run(2.0, 0.001, 0, 0), Run(2.5, 0.001, 0, 1)]);
        Assert.Equal(0, reference.Settings[0].ToleranceTauS[0]);

        using TemporaryFolder folder = new();
        ReferenceFolder.Write(reference, folder.Path);
        string[] rows = File.ReadAllText(folder.Of("decay_band.csv")).Split("\r\n");

        Assert.Equal(",0,1,1,1", rows[1]);
        Assert.Equal("0", rows[2].Split(',')[3]);
    }

    private static InstrumentReference Of(ReferenceRun[] runs) => ReferenceBuilder.FromRuns(runs, "a", null, Samples.Record.Program);

    private static ReferenceRun Run(double tau, double scatter, double common, int number) => new()
    {
        File = $"run{number}", Sha256 = $"{number}", Model = "decay", TauS = tau, ScatterUncertaintyS = scatter, CommonUncertaintyS = common,
    };
}
