using System.Numerics;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.Random;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Studies;

namespace StreakTrack.Core.Tests.Studies;

/// <summary>Simulated sweeps: the equation of motion in the rotating frame, integrated step by step and not by the formula under test.</summary>
internal sealed record SweepSeries
{
    public double FreeHz { get; init; } = 35.84;

    public double TauSeconds { get; init; } = 1.1;

    public double LevelMm { get; init; } = 58;

    public IReadOnlyList<double> DrivesHz { get; init; } = [35.24, 35.44, 35.59, 35.74, 35.84, 35.94, 36.09, 36.24, 36.44];

    public double HoldSeconds { get; init; } = 5;

    /// <summary>How much later than their nominal times the steps really come.</summary>
    public Func<int, double> LateSeconds { get; init; } = _ => 0;

    /// <summary>Jump of the drive's phase at each step.</summary>
    public Func<int, double> JumpRadians { get; init; } = _ => 0;

    public double PointsPerSecond { get; init; } = 30;

    public double SigmaMm { get; init; } = 0.05;

    public double Correlation { get; init; }

    public IReadOnlyList<DriveStep> Table => [.. DrivesHz.Select((f, k) => new DriveStep(f, k * HoldSeconds))];

    public EnvelopeData Simulate(int seed)
    {
        // z' = -z/tau + force exp(i phase), in the frame of the free oscillation, the phase running on with each drive: fourth-order
        // Runge-Kutta steps of at most a millisecond, from the steady state under the first drive.
        double Rate(int k) => 2 * Math.PI * (DrivesHz[k] - FreeHz);
        double[] starts = [.. DrivesHz.Select((_, k) => k == 0 ? 0 : (k * HoldSeconds) + LateSeconds(k))];
        int count = (int)(DrivesHz.Count * HoldSeconds * PointsPerSecond);
        double force = LevelMm / TauSeconds, phase = 0, time = 0;
        Complex z = force / new Complex(1 / TauSeconds, Rate(0));
        int step = 0;
        double[] times = new double[count], amplitudes = new double[count];
        var normal = new Normal(0, 1, new MersenneTwister(seed, threadSafe: false));
        double noise = SigmaMm * normal.Sample();
        for (int i = 0; i < count; i++)
        {
            times[i] = i / PointsPerSecond;
            while (step + 1 < starts.Length && starts[step + 1] <= times[i])
            {
                Advance(starts[step + 1]);
                step++;
                phase += JumpRadians(step);
            }

            Advance(times[i]);
            if (i > 0)
                noise = (Correlation * noise) + (SigmaMm * Math.Sqrt(1 - (Correlation * Correlation)) * normal.Sample());
            amplitudes[i] = z.Magnitude + noise;
        }

        double[] stated = new double[count];
        Array.Fill(stated, SigmaMm > 0 ? SigmaMm : double.NaN);
        return EnvelopeData.FromNumbers(times, amplitudes, SigmaMm > 0 ? stated : null);

        void Advance(double to)
        {
            int parts = Math.Max(1, (int)Math.Ceiling((to - time) / 1e-3));
            double h = (to - time) / parts, rate = Rate(step);
            for (int part = 0; part < parts && h > 0; part++)
            {
                Complex Slope(Complex at, double after) => (-at / TauSeconds) + Complex.FromPolarCoordinates(force, phase + (rate * after));
                Complex k1 = Slope(z, 0), k2 = Slope(z + (h / 2 * k1), h / 2), k3 = Slope(z + (h / 2 * k2), h / 2), k4 = Slope(z + (h * k3), h);
                z += h / 6 * (k1 + (2 * k2) + (2 * k3) + k4);
                phase += rate * h;
            }

            time = to;
        }
    }
}
