using System.Numerics;
using StreakTrack.Synthesis.Motion;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Tests.Motion;

public class BeamPathTests
{
    // A lever so long that millimetres on the ruler are proportional to the mirror's angle (to 1e-10).
    private static readonly LeverSettings LongLever = new() { DistanceMm = 100_000, RestReadingMm = 0 };

    // The oscillator of fixtures/reference/synthetic/envelope_vs_exact.csv: undamped 23.47 Hz, Q 173.27.
    private const double UndampedHz = 23.47, QualityFactor = 173.27;

    private static readonly double TauSeconds = QualityFactor / (Math.PI * UndampedHz);
    private static readonly double FreeHz = UndampedHz * Math.Sqrt(1 - 1 / (4 * QualityFactor * QualityFactor));

    [Fact]
    public void Start_from_rest_under_a_drive_reaches_the_maxima_of_the_exact_solution()
    {
        foreach (double[] row in ReferenceTable.Rows("synthetic", "envelope_vs_exact.csv"))
        {
            BeamPath path = SwitchedOn(detuningHz: row[0]);

            // 7 decimals are printed of time and maximum; the time's rounding does not count at a maximum.
            Assert.Equal(row[2], path.ReadingMm(row[1]), 2e-7);
        }
    }

    [Fact]
    public void Envelope_after_a_detuned_start_follows_the_formula_within_the_stated_differences()
    {
        // Largest differences between formula and exact maxima after envelope_vs_exact.json, by detuning in Hz.
        var stated = new Dictionary<double, double> { [0] = 0.0007, [0.2] = 0.0019, [0.8] = 0.0071, [2] = 0.0171 };
        foreach (double[] row in ReferenceTable.Rows("synthetic", "envelope_vs_exact.csv"))
            Assert.Equal(row[3], SwitchedOn(row[0]).AmplitudeMm(row[1]), stated[row[0]]);
    }

    [Fact]
    public void Mirror_angle_decays_exponentially_after_the_drive_is_cut()
    {
        var motion = new DecayMotion { FrequencyHz = 34, TauSeconds = 2, AmplitudeMm = 50, SwitchTimeSeconds = 1 };
        var lever = new LeverSettings { DistanceMm = 800, RestReadingMm = 150 };
        var path = new BeamPath(motion, lever);

        double Angle(double time) => Math.Atan(path.AmplitudeMm(time) / lever.DistanceMm) / 2;

        Assert.Equal(50, path.AmplitudeMm(0.9), 1e-9);
        Assert.Equal(Math.Exp(-1.5), Angle(4.5) / Angle(1.5), 1e-12);
        // x = L tan 2 theta bends the ruler's amplitude away from the exponential: (A/L)^2 / 3 at most, 0.13 %.
        Assert.Equal(Math.Exp(-1.5), path.AmplitudeMm(4.5) / path.AmplitudeMm(1.5), 4e-4);
        Assert.NotEqual(Math.Exp(-1.5), path.AmplitudeMm(4.5) / path.AmplitudeMm(1.5), 1e-5);
    }

    [Fact]
    public void Rise_reaches_its_share_after_one_decay_time()
    {
        var path = new BeamPath(new RiseMotion { FrequencyHz = 30, TauSeconds = 2, AmplitudeMm = 40, SwitchTimeSeconds = 1 }, LongLever);

        Assert.Equal(0, path.AmplitudeMm(0.5), 1e-12);
        // Exact motion and rotating-wave formula differ by up to 1/(4 Q) of the amplitude; Q = pi f tau = 188.
        Assert.Equal(40 * (1 - Math.Exp(-1)), path.AmplitudeMm(3), 40 / (4 * Math.PI * 30 * 2));
    }

    [Fact]
    public void Lowered_drive_ends_on_its_floor()
    {
        var motion = new FlooredDecayMotion { AmplitudeMm = 40, FloorMm = 5, TauSeconds = 1.5, SwitchTimeSeconds = 1 };
        var path = new BeamPath(motion, LongLever);

        Assert.Equal(5, path.AmplitudeMm(40), 1e-9);
        Assert.Equal(5 + 35 * Math.Exp(-1), path.AmplitudeMm(2.5), 40 / (4 * Math.PI * 34 * 1.5));
    }

    [Fact]
    public void Clip_that_starts_in_mid_decay_is_the_same_motion_seen_later()
    {
        var motion = new DecayMotion { FrequencyHz = 36, TauSeconds = 1.8, AmplitudeMm = 50, SwitchTimeSeconds = -0.9 };

        Assert.Equal(50 * Math.Exp(-0.5), new BeamPath(motion, LongLever).AmplitudeMm(0), 50 / (4 * Math.PI * 36 * 1.8));
    }

    [Fact]
    public void Settled_steps_of_a_sweep_follow_the_resonance_curve()
    {
        double[] drives = [34, 35, 35.8, 36, 36.2, 37];
        var motion = new SteppedSweepMotion
        {
            FrequencyHz = 36, TauSeconds = 1.2, ResonanceAmplitudeMm = 50, DriveFrequenciesHz = drives, HoldSeconds = 30,
        };
        var path = new BeamPath(motion, LongLever);

        // Steady response of m x'' + c x' + k x = F cos w t, any textbook: amplitude ~ 1/sqrt((w0^2 - w^2)^2 + (2 w/tau)^2).
        double free = 2 * Math.PI * 36, undamped = free * free + 1 / (1.2 * 1.2);
        double Curve(double hz)
        {
            double w = 2 * Math.PI * hz;
            return 1 / Math.Sqrt((undamped - w * w) * (undamped - w * w) + 4 * w * w / (1.2 * 1.2));
        }

        // The long lever's own curvature, (A/L)^2/3 of 50 mm, is 4e-6 mm.
        for (int k = 0; k < drives.Length; k++)
            Assert.Equal(50 * Curve(drives[k]) / Curve(36), path.AmplitudeMm(30 * k + 29.5), 1e-5);
    }

    [Fact]
    public void Position_and_speed_are_continuous_where_the_drive_changes()
    {
        var sweep = new SteppedSweepMotion
        {
            FrequencyHz = 36, TauSeconds = 1.2, ResonanceAmplitudeMm = 50, DriveFrequenciesHz = [35, 36, 36.5], HoldSeconds = 0.7,
        };
        var path = new BeamPath(sweep, LongLever);
        const double Step = 1e-6;
        foreach (double change in new[] { 0.7, 1.4 })
        {
            double before = (path.ReadingMm(change - Step) - path.ReadingMm(change - 2 * Step)) / Step;
            double after = (path.ReadingMm(change + 2 * Step) - path.ReadingMm(change + Step)) / Step;

            // The speed is up to 11 000 mm/s, and changes by acceleration times 3 us, up to 8 mm/s, between the two places.
            Assert.Equal(before, after, 9.0);
            Assert.Equal(path.ReadingMm(change - Step), path.ReadingMm(change + Step), 0.03);
        }
    }

    [Fact]
    public void Drag_decay_solves_its_equation()
    {
        var motion = new DragDecayMotion { TauSeconds = 2, AmplitudeMm = 45, DragPerMmSecond = 0.02, SwitchTimeSeconds = 0.5 };
        var path = new BeamPath(motion, LongLever);

        // dA/dt = -A/tau - b A^2 by the classical Runge-Kutta method, 1 ms steps: error below 1e-10.
        double Rate(double a) => -a / 2 - 0.02 * a * a;
        double amplitude = 45;
        const double H = 1e-3;
        for (int step = 0; step < 3000; step++)
        {
            double k1 = Rate(amplitude), k2 = Rate(amplitude + H / 2 * k1);
            double k3 = Rate(amplitude + H / 2 * k2), k4 = Rate(amplitude + H * k3);
            amplitude += H / 6 * (k1 + 2 * k2 + 2 * k3 + k4);
        }

        // The long lever's own curvature, (A/L)^2/3, is 7e-8.
        Assert.Equal(amplitude, path.AmplitudeMm(3.5), 1e-6);
        Assert.Equal(45, path.AmplitudeMm(0.5), 1e-12);
    }

    private static BeamPath SwitchedOn(double detuningHz)
    {
        double drive = UndampedHz + detuningHz;
        double w0 = 2 * Math.PI * UndampedHz, w = 2 * Math.PI * drive;
        // The steady response to F cos(w t), whose phase the motion must be given.
        Complex response = 1 / new Complex(w0 * w0 - w * w, 2 * w / TauSeconds);
        return new BeamPath(
            new DetunedTransientMotion
            {
                FrequencyHz = FreeHz, TauSeconds = TauSeconds, DetuningHz = drive - FreeHz, AmplitudeMm = 1, SwitchTimeSeconds = 0,
                PhaseRadians = response.Phase,
            },
            LongLever);
    }
}
