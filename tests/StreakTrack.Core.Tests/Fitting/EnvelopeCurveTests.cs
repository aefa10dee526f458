using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

public class EnvelopeCurveTests
{
    [Theory]
    [InlineData(0.5)]
    [InlineData(1.7)]
    [InlineData(6)]
    public void The_curve_s_uncertainty_is_propagated_from_the_parameters(double timeSeconds)
    {
        // A decay from 1 s on with a scatter of alternating sign, after a steady part.
        double[] times = [.. Enumerable.Range(0, 200).Select(i => i / 30.0)];
        double[] amplitudes = [.. times.Select((t, i) => (50 * Math.Exp(-Math.Max(0, t - 1) / 2)) + (i % 2 == 0 ? 0.05 : -0.05))];
        EnvelopeFit fit = EnvelopeFitter.Fit(
            EnvelopeData.FromNumbers(times, amplitudes, null), new EnvelopeFitOptions { Model = "decay", ProfileIntervals = false });

        // The same by central differences of the curve itself: error of order step squared, far below the tolerance.
        double[] derivatives =
        [
            .. fit.FreeNames.Select(name =>
            {
                double step = 1e-6 * Math.Abs(fit.Parameter(name)!.Value);
                double Moved(double by) => (fit with
                {
                    Parameters = [.. fit.Parameters.Select(p => p.Name == name ? p with { Value = p.Value + by } : p)],
                }).Curve(timeSeconds);
                return (Moved(step) - Moved(-step)) / (2 * step);
            }),
        ];
        double variance = 0;
        for (int i = 0; i < derivatives.Length; i++)
        {
            for (int j = 0; j < derivatives.Length; j++)
                variance += derivatives[i] * fit.Covariance[i, j] * derivatives[j];
        }

        Assert.True(fit.SteadyPartSeen);
        Assert.Equal(1, fit.CurveUncertaintyMm(timeSeconds) / Math.Sqrt(variance), 1e-5);
    }
}
