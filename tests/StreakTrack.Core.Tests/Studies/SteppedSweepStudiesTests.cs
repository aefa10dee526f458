using System.Text.Json;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Studies;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Core.Tests.Studies;

public class SteppedSweepStudiesTests
{
    private static readonly SteppedSweepOptions Lorentzian = new() { Response = ResponseModel.Lorentzian };

    public static TheoryData<bool, bool, ResponseModel> Forms()
    {
        var forms = new TheoryData<bool, bool, ResponseModel>();
        foreach (bool levels in (bool[])[false, true])
        {
            foreach (bool jumps in (bool[])[false, true])
            {
                forms.Add(levels, jumps, ResponseModel.Exact);
                forms.Add(levels, jumps, ResponseModel.Lorentzian);
            }
        }

        return forms;
    }

    // Central differences over millionths leave 1e-6 of the largest derivative.
    [Theory]
    [MemberData(nameof(Forms))]
    public void Derivatives_agree_with_differences(bool levels, bool jumps, ResponseModel response)
    {
        var envelope = new SweepEnvelope([new(20, 0), new(20.6, 1), new(21.1, 2), new(20.3, 3)], 0.1, response, levels, jumps);
        double[] p = new double[envelope.ParameterCount];
        (p[0], p[1], p[2], p[3]) = (0.2, 0.9, 1.5, -2);
        for (int k = 0; k < envelope.LevelCount; k++)
            p[envelope.Levels + k] = 30 - (4 * k);
        for (int k = 0; k < 3; k++)
            p[envelope.Times + k] = 0.013 + (0.01 * k);
        for (int k = 0; k < 3 && jumps; k++)
            p[envelope.Jumps + k] = 0.4 + k;
        double[] times = [.. Enumerable.Range(0, 100).Select(i => 0.1 + (i * 0.04))], values = new double[100], jacobian = new double[100 * p.Length];
        Assert.True(envelope.Evaluate(p, times, envelope.Divide(p, times), values, jacobian, 100, []));

        for (int j = 0; j < p.Length; j++)
        {
            double h = 1e-6 * Math.Max(1, Math.Abs(p[j]));
            double[] up = At(j, h), down = At(j, -h);
            double[] column = jacobian[(j * 100)..((j + 1) * 100)];
            double largest = column.Max(Math.Abs);
            Assert.True(largest > 0);
            for (int i = 0; i < 100; i++)
                Assert.Equal((up[i] - down[i]) / (2 * h), column[i], 2e-6 * largest);
        }

        double[] At(int j, double h)
        {
            double[] moved = [.. p], found = new double[100];
            moved[j] += h;
            Assert.True(envelope.Evaluate(moved, times, envelope.Divide(p, times), found, [], 0, []));
            return found;
        }
    }

    // The integration of the equation of motion is exact to a part in 1e9; noise of a micrometre leaves a few thousandths of the tolerances.
    [Theory]
    [InlineData(5, 1.1)]
    [InlineData(1.5, 1.1)]
    [InlineData(4, 6)]
    [InlineData(4, 0.3)]
    public void A_sweep_with_next_to_no_noise_is_recovered_exactly_however_little_it_settles(double hold, double tau)
    {
        var series = new SweepSeries { HoldSeconds = hold, TauSeconds = tau, SigmaMm = 0.001, LateSeconds = k => 0.017 + (0.003 * k) };

        SteppedSweepStudy study = SteppedSweepStudies.Run(series.Simulate(1), series.Table, Lorentzian);

        Assert.Equal(35.84, study.Fit.Parameter("damped_frequency_hz").Value.Value, 5e-5);
        Assert.Equal(tau, study.Fit.Parameter("tau_s").Value.Value, 1e-3 * tau);
        Assert.Equal(series.LateSeconds(4), study.Plateaus[4].StartSeconds - (4 * hold), 2e-3);
        Assert.Equal(58 / Math.Sqrt(1 + Math.Pow(2 * Math.PI * tau * 0.25, 2)), study.Plateaus[2].AmplitudeMm, 0.01);
        Assert.Equal(hold > 4 * tau, !study.Findings.Any(f => f.Code == "unsettled-steps"));
    }

    [Fact]
    public void The_frequency_reported_says_which_it_is()
    {
        SteppedSweepStudy study = SteppedSweepStudies.Run(new SweepSeries().Simulate(1), new SweepSeries().Table, Lorentzian);

        // f0^2 = f_d^2 + 1/(2 pi tau)^2, which is 0.29 mHz here, and Q = pi f0 tau.
        double f0 = study.Fit.Parameter("f0_hz").Value.Value, tau = study.Fit.Parameter("tau_s").Value.Value;
        Assert.Equal(0.00029, f0 - study.Fit.Parameter("damped_frequency_hz").Value.Value, 1e-5);
        Assert.Equal(Math.PI * f0 * tau, study.Fit.Parameter("q").Value.Value, 1e-9);
    }

    [Fact]
    public void Phase_jumps_are_noticed_and_fitted()
    {
        var series = new SweepSeries { JumpRadians = k => 2.4 * k, SigmaMm = 0.1 };

        SteppedSweepStudy study = SteppedSweepStudies.Run(series.Simulate(3), series.Table, Lorentzian);

        Assert.True(study.Fit.PhaseJumps);
        Assert.Contains(study.Findings, f => f.Code == "drive-phase-jumps");
        AssertWithin(35.84, study.Fit.Parameter("damped_frequency_hz"));
        AssertWithin(1.1, study.Fit.Parameter("tau_s"));
    }

    [Fact]
    public void Steps_that_come_late_are_found_and_remarked_on()
    {
        var series = new SweepSeries { LateSeconds = k => 0.8, SigmaMm = 0.1 };

        SteppedSweepStudy study = SteppedSweepStudies.Run(series.Simulate(4), series.Table, Lorentzian);

        Assert.Contains(study.Findings, f => f.Code == "step-times-differ");
        Assert.Equal(5.8, study.Plateaus[1].StartSeconds, 0.02);
        AssertWithin(1.1, study.Fit.Parameter("tau_s"));
    }

    // An independent simulator's envelope (fixtures/clips) with the noise of a good clip; bars of the design: f0 5 mHz, Q 2 %. Its
    // response is the Lorentzian limit, which the program has to find out.
    [Fact]
    public void The_motion_of_an_independent_simulator_is_recovered()
    {
        using JsonDocument truth = JsonDocument.Parse(File.ReadAllText(Fixtures.PathOf("clips", "sweep_540p30", "truth.json")));
        JsonElement oscillator = truth.RootElement.GetProperty("oscillator");
        DriveStep[] steps = [.. oscillator.GetProperty("steps").EnumerateArray()
            .Select(s => new DriveStep(s.GetProperty("f_hz").GetDouble(), s.GetProperty("t_start_s").GetDouble()))];
        JsonElement[] frames = [.. truth.RootElement.GetProperty("frames").EnumerateArray()];
        var random = new MathNet.Numerics.Distributions.Normal(0, 0.05, new MathNet.Numerics.Random.MersenneTwister(5, false));
        EnvelopeData data = EnvelopeData.FromNumbers(
            [.. frames.Select(f => f.GetProperty("pts").GetDouble())], [.. frames.Select(f => f.GetProperty("A_mm").GetDouble() + random.Sample())]);

        SteppedSweepStudy study = SteppedSweepStudies.Run(data, steps);

        Assert.Equal(ResponseModel.Lorentzian, study.Fit.Response);
        Assert.Equal(oscillator.GetProperty("f0_hz").GetDouble(), study.Fit.Parameter("f0_hz").Value.Value, 0.005);
        Assert.Equal(oscillator.GetProperty("Q").GetDouble(), study.Fit.Parameter("q").Value.Value, 0.02 * 123.85);
        Assert.False(study.Fit.PhaseJumps);
    }

    [Fact]
    public void A_table_that_does_not_belong_to_the_series_is_refused_or_doubted()
    {
        var series = new SweepSeries();
        EnvelopeData data = series.Simulate(6);

        Assert.Throws<UnusableInputException>(() => SteppedSweepStudies.Run(data, [.. series.Table.Select(s => s with { StartSeconds = s.StartSeconds + 100 })]));
        Assert.Throws<UnusableInputException>(() => SteppedSweepStudies.Run(data, [.. series.Table.Take(2)]));
        Assert.Throws<UnusableInputException>(() => SteppedSweepStudies.Run(data, [.. series.Table.Reverse()]));

        DriveStep[] shuffled = [.. series.Table.Select((s, k) => s with { FrequencyHz = series.DrivesHz[(k * 4) % 9] })];
        SteppedSweepStudy? study = null;
        Exception? refusal = Record.Exception(() => study = SteppedSweepStudies.Run(data, shuffled));
        Assert.True(refusal is UnusableInputException || study!.Findings.Any(f => f.Code == "model-does-not-fit"), "taken for a sweep without a remark");
    }

    private static void AssertWithin(double truth, StudyParameter found) => Assert.InRange(
        truth, found.Value.Value - (4 * found.Value.StandardUncertainty), found.Value.Value + (4 * found.Value.StandardUncertainty));
}
