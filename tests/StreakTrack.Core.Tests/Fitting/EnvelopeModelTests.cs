using System.Numerics;
using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

public class EnvelopeModelTests
{
    public static TheoryData<string, double[]> ModelsAndParameters() => new()
    {
        { "decay", [2.35, 48] },
        { "decay-floor", [2.35, 48, 1.6] },
        { "decay-level", [2.35, 48, 12] },
        { "rise", [2.35, 55] },
        { "transient", [2.35, 0.8, 30] },
        { "transient", [3.1, 0.55, 22, -9, 16] },
        { "drag", [3, 48, 0.004] },
        { "drag", [3, 48, 0] },
        { "dry-friction", [2.35, 48, 1.5] },
        { "detuned rise", [2.35, 0.64, 30] },
        { "detuned rise", [2.35, 0, 30] },
        { "detuned rise", [2.35, -0.002, 30] },
    };

    private static EnvelopeModel Model(string name, double[] parameters) => name == "detuned rise" ? DetunedRiseModel.Instance :
        EnvelopeModels.FormsOf(name).Single(form => form.Parameters.Count == parameters.Length);

    // The transient from rest written out as its complex motion (design: rotating-wave approximation), and its slope at the start by hand.
    [Theory]
    [InlineData(0.8)]
    [InlineData(0.01)]
    [InlineData(0)]
    public void The_start_from_rest_is_the_modulus_of_its_complex_motion(double detuningHz)
    {
        foreach (double s in (double[])[0, 0.013, 0.4, 1.7, 5.2])
        {
            double expected = 30 * (1 - Complex.Exp(new Complex(-s / 2.35, 2 * Math.PI * detuningHz * s))).Magnitude;
            Assert.Equal(expected, TransientModel.FromRest.Value(s, [2.35, detuningHz, 30], [], out _), 1e-12 * 30);
        }

        TransientModel.FromRest.Value(0, [2.35, detuningHz, 30], new double[3], out double slope);
        Assert.Equal(30 * new Complex(1 / 2.35, 2 * Math.PI * detuningHz).Magnitude, slope, 1e-12 * 30);
    }

    // Central differences of order 8 with step h are off by some h^8 of the ninth derivative, 1e-13 here, and by rounding, 1e-16/h =
    // 1e-13, of the value; allowed is 1e-10 of the largest derivative.
    [Theory]
    [MemberData(nameof(ModelsAndParameters))]
    public void Analytic_derivatives_agree_with_differences_of_order_eight(string name, double[] parameters)
    {
        EnvelopeModel model = Model(name, parameters);
        foreach (double s in (double[])[0.013, 0.4, 1.7, 5.2])
        {
            double[] gradient = new double[parameters.Length];
            model.Value(s, parameters, gradient, out double slope);
            double largest = gradient.Append(slope).Max(Math.Abs);
            for (int j = 0; j < parameters.Length; j++)
            {
                double difference = Derivative(h =>
                {
                    double[] moved = [.. parameters];
                    moved[j] += h;
                    return model.Value(s, moved, [], out _);
                }, 1e-3 * Math.Max(Math.Abs(parameters[j]), 0.01));
                Assert.Equal(difference, gradient[j], 1e-10 * Math.Max(largest, Math.Abs(difference)));
            }

            Assert.Equal(Derivative(h => model.Value(s + h, parameters, [], out _), 1e-3), slope, 1e-10 * largest);
        }
    }

    // dA/dt = -A/tau - b A^2 and dA/dt = -A/tau - c are the definitions of the two models (design: drag and dry friction).
    [Fact]
    public void Drag_and_dry_friction_obey_their_differential_equations()
    {
        double[] gradient = new double[3];
        double a = EnvelopeModels.Drag.Value(0.9, [3, 48, 0.004], gradient, out double slope);
        Assert.Equal(-a / 3 - 0.004 * a * a, slope, 1e-12);
        Assert.Equal(48, EnvelopeModels.Drag.Value(0, [3, 48, 0.004], [], out _), 1e-12);

        a = EnvelopeModels.DryFriction.Value(0.9, [3, 48, 1.5], gradient, out slope);
        Assert.Equal(-a / 3 - 1.5, slope, 1e-12);
        Assert.Equal(0, EnvelopeModels.DryFriction.Value(60, [3, 48, 1.5], [], out _));
    }

    [Fact]
    public void The_transient_on_resonance_is_the_rise()
    {
        double transient = TransientModel.FromRest.Value(1.3, [2.35, 0, 30], [], out _);

        Assert.Equal(EnvelopeModels.Rise.Value(1.3, [2.35, 30], [], out _), transient, 1e-12);
    }

    // Common practice, no source: a detuned drive beats at the difference frequency.
    [Fact]
    public void A_detuned_start_first_peaks_half_a_beat_after_the_switch()
    {
        double[] times = [.. Enumerable.Range(0, 2000).Select(i => i * 0.001)];

        double peak = times.MaxBy(t => TransientModel.FromRest.Value(t, [50, 0.8, 30], [], out _));

        Assert.Equal(1 / (2 * 0.8), peak, 0.02);
    }

    [Fact]
    public void A_decay_time_that_is_not_positive_has_no_curve()
    {
        foreach (string name in EnvelopeModels.Names)
        {
            EnvelopeModel model = EnvelopeModels.FormsOf(name)[0];
            double[] parameters = new double[model.Parameters.Count];
            Array.Fill(parameters, 1);
            parameters[0] = 0;
            Assert.True(double.IsNaN(model.Value(1, parameters, [], out _)), name);
        }
    }

    [Fact]
    public void A_name_that_is_none_is_refused_with_those_that_are()
    {
        var error = Assert.Throws<ArgumentException>(() => EnvelopeModels.FormsOf("linear"));

        Assert.Contains("decay-floor", error.Message, StringComparison.Ordinal);
    }

    private static double Derivative(Func<double, double> f, double h) =>
        (4.0 / 5 * (f(h) - f(-h)) - 1.0 / 5 * (f(2 * h) - f(-2 * h)) + 4.0 / 105 * (f(3 * h) - f(-3 * h)) - 1.0 / 280 * (f(4 * h) - f(-4 * h))) / h;
}
