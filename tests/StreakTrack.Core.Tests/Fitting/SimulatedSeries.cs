using MathNet.Numerics.Distributions;
using MathNet.Numerics.Random;
using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

/// <summary>Series with known truth, 30 points a second, for the tests of the fit.</summary>
internal static class SimulatedSeries
{
    public const double Spacing = 1 / 30.0;

    /// <summary>Curve plus noise; the noise is first-order autoregressive when a correlation is given.</summary>
    public static EnvelopeData Of(Func<double, double> curve, int count, double sigmaMm, int seed, double correlation = 0, double? statedSigmaMm = null)
    {
        var normal = new Normal(0, 1, new MersenneTwister(seed, threadSafe: false));
        double[] times = new double[count], amplitudes = new double[count];
        double noise = sigmaMm * normal.Sample();
        for (int i = 0; i < count; i++)
        {
            times[i] = i * Spacing;
            if (i > 0)
                noise = correlation * noise + sigmaMm * Math.Sqrt(1 - correlation * correlation) * normal.Sample();
            amplitudes[i] = curve(times[i]) + noise;
        }

        double[] stated = new double[count];
        Array.Fill(stated, statedSigmaMm ?? double.NaN);
        return EnvelopeData.FromNumbers(times, amplitudes, statedSigmaMm is null ? null : stated);
    }

    /// <summary>Steady until t0, then a decay.</summary>
    public static Func<double, double> Decay(double amplitudeMm = 48, double tauSeconds = 2.35, double t0Seconds = 0, double floorMm = 0) =>
        t => amplitudeMm * Math.Exp(-Math.Max(0, t - t0Seconds) / tauSeconds) + floorMm;

    /// <summary>At rest until t0, then a rise.</summary>
    public static Func<double, double> Rise(double amplitudeMm = 55, double tauSeconds = 2.35, double t0Seconds = 0) =>
        t => amplitudeMm * (1 - Math.Exp(-Math.Max(0, t - t0Seconds) / tauSeconds));

    /// <summary>Start from rest off resonance.</summary>
    public static Func<double, double> Beats(double amplitudeMm = 30, double tauSeconds = 2.35, double detuningHz = 0.8, double t0Seconds = 0) => t =>
    {
        double s = t - t0Seconds, e = Math.Exp(-s / tauSeconds);
        return s <= 0 ? 0 : amplitudeMm * Math.Sqrt(1 - 2 * e * Math.Cos(2 * Math.PI * detuningHz * s) + e * e);
    };
}
