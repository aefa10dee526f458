using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Tests.Streaks;

public class PhaseTrackTests
{
    private const int Frames = 240;
    private const double Sigma = 6, Hz = 36.7, Rate = 30, Middle = 500;

    // The middle of an arc by direct integration of the motion, with noise of a twentieth of the spot. The phases of the window's dozen
    // frames average it: 0.3 px of 290 px and less.
    [Theory]
    [InlineData(0.02)]
    [InlineData(0.1)]
    [InlineData(0.3)]
    [InlineData(0.7)]
    public void Phases_and_frequency_are_told_by_the_middles_of_the_arcs(double periods)
    {
        (double[] times, double[] middles, double[] halves) = Arcs(periods);

        // Rough half lengths, 10 % out.
        PhaseTrack? track = PhaseTrack.Of(times, middles, [.. halves.Select((h, k) => h * (k % 2 == 0 ? 1.1 : 0.95))], Sigma, periods);

        Assert.NotNull(track);
        Assert.Equal(Hz - Rate, track.AliasHz, 0.003);
        Assert.InRange(track.AliasUncertaintyHz, 1e-5, 0.003);
        for (int k = 10; k < Frames - 10; k++)
        {
            double expected = Math.Cos(Phase(times[k]));
            Assert.Equal(expected, Math.Cos(track.MidPhaseRad[k]), 0.06);
        }
    }

    [Fact]
    public void Noise_has_no_phase()
    {
        var random = new Random(11);
        double[] times = [.. Enumerable.Range(0, Frames).Select(k => k / Rate)];
        double[] middles = [.. times.Select(_ => Middle + (20 * StreakTables.Normal(random)))];
        Assert.Null(PhaseTrack.Of(times, middles, [.. times.Select(_ => 200.0)], Sigma, 0.3));
    }

    // Frames that differ by whole periods see one phase: nothing in them tells swing from phase, and it is said so.
    [Fact]
    public void A_frequency_in_step_with_the_frames_leaves_the_phases_unknown()
    {
        var random = new Random(12);
        double[] times = [.. Enumerable.Range(0, Frames).Select(k => k / Rate)];
        double[] middles = [.. times.Select(t => Middle + (150 * Math.Exp(-t / 2)) + (0.3 * StreakTables.Normal(random)))];
        PhaseTrack? track = PhaseTrack.Of(times, middles, [.. times.Select(t => 300 * Math.Exp(-t / 2))], Sigma, 0.3);
        Assert.True(track is null || track.PhaseSdRad.Count(sd => sd < 0.1) < Frames / 4);
    }

    private static double Phase(double time) => (2 * Math.PI * Hz * time) + 0.4;

    private static (double[] Times, double[] Middles, double[] Halves) Arcs(double periods)
    {
        var random = new Random(5);
        double[] times = [.. Enumerable.Range(0, Frames).Select(k => k / Rate)];
        double[] halves = [.. times.Select(t => 290 * Math.Exp(-Math.Max(0, t - 1) / 3))];
        double[] middles = new double[Frames];
        for (int k = 0; k < Frames; k++)
        {
            const int steps = 200;
            for (int n = 0; n < steps; n++)
                middles[k] += Math.Cos(Phase(times[k] + (periods / Hz * ((n + 0.5) / steps - 0.5)))) / steps;
            middles[k] = Middle + (halves[k] * middles[k]) + (0.3 * StreakTables.Normal(random));
        }

        return (times, middles, halves);
    }
}
