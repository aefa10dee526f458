using System.Globalization;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.Random;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;

namespace StreakTrack.Validation.EnvelopeFits;

/// <summary>Many simulated series of one kind, to count how often the stated 95 % interval of tau holds the truth.</summary>
internal sealed record CoverageCase
{
    private const double SlowCorrelation = 0.97;

    public required string Name { get; init; }

    public required string Model { get; init; }

    public required Func<double, double> Curve { get; init; }

    public required double TrueTau { get; init; }

    public int Points { get; init; } = 240;

    public double SigmaMm { get; init; } = 0.35;

    public double Correlation { get; init; }

    /// <summary>Standard uncertainty, in mm, of the offset that all amplitudes may share, as it is stated for a clip; they have none.</summary>
    public double OffsetUncertaintyMm { get; init; }

    /// <summary>
    /// Standard deviation, in mm, of an error that neighbouring frames share (correlation 0.97) beside the scatter, for a true amplitude;
    /// null for none. The series then states the uncertainty of each frame.
    /// </summary>
    public Func<double, double>? SlowErrorMm { get; init; }

    /// <summary>Whether the Cramer-Rao bound is worked out and shown: independent noise and a curve without a kink.</summary>
    public bool HasBound { get; init; }

    /// <summary>Whether the program has to find the model by itself.</summary>
    public bool ChoosesModel { get; init; }

    /// <summary>Whether it bends the curve by something so small that the noise hides it more or less often.</summary>
    public bool IsHidden { get; init; }

    /// <summary>The kinds of the table.</summary>
    public static IReadOnlyList<CoverageCase> All => [.. Named, .. Named.Select(study => study with { ChoosesModel = true, HasBound = false }), .. Hidden, .. Slow];

    private static readonly IReadOnlyList<CoverageCase> Named =
    [
        new() { Name = "decay", Model = "decay", Curve = t => 48 * Math.Exp(-t / 2.35), TrueTau = 2.35, HasBound = true },
        new()
        {
            Name = "steady part, then decay", Model = "decay", Curve = t => 48 * Math.Exp(-Math.Max(0, t - 1.8123) / 2.35), TrueTau = 2.35,
            Points = 300,
        },
        new()
        {
            Name = "decay onto a floor", Model = "decay-floor", Curve = t => 48 * Math.Exp(-t / 2.35) + 1.6, TrueTau = 2.35, HasBound = true,
        },
        new()
        {
            Name = "rise", Model = "rise", Curve = t => 55 * (1 - Math.Exp(-(t + 0.1) / 2.35)), TrueTau = 2.35, Points = 300, HasBound = true,
        },
        new()
        {
            Name = "transient, detuned by 0.8 Hz", Model = "transient", Curve = t => Beats(t + 0.01, 0.8), TrueTau = 2.35, Points = 300, HasBound = true,
        },
        new()
        {
            Name = "drag", Model = "drag", Curve = t => EnvelopeModels.Drag.Value(t, [3, 48, 0.004], [], out _), TrueTau = 3, Points = 300,
            SigmaMm = 0.2, HasBound = true,
        },
        new()
        {
            Name = "dry friction", Model = "dry-friction", Curve = t => EnvelopeModels.DryFriction.Value(t, [3, 48, 1], [], out _), TrueTau = 3,
            Points = 240, SigmaMm = 0.2, HasBound = true,
        },
        new()
        {
            Name = "decay, noise with correlation 0.7", Model = "decay", Curve = t => 48 * Math.Exp(-t / 2.35), TrueTau = 2.35, Correlation = 0.7,
        },
        new()
        {
            Name = "decay onto a floor, correlation 0.7", Model = "decay-floor", Curve = t => 48 * Math.Exp(-t / 2.35) + 1.6, TrueTau = 2.35,
            Correlation = 0.7,
        },
    ];

    // The shape of the spot leaves more open where the streak is short, and alike from frame to frame: white scatter at first, slow errors later.
    private static readonly IReadOnlyList<CoverageCase> Slow =
    [
        new()
        {
            Name = "steady part, then decay, slow errors of the short streak", Model = "decay", Curve = t => 48 * Math.Exp(-Math.Max(0, t - 1.8123) / 2.35),
            TrueTau = 2.35, Points = 270, SigmaMm = 0.06, SlowErrorMm = amplitude => 0.2 * Math.Exp(-amplitude / 8),
            OffsetUncertaintyMm = 0.1, ChoosesModel = true,
        },
    ];

    // From what is hardly ever seen to what nearly always is; the hardest lie between. A short record of a slow beat is much like a rise.
    private static readonly IReadOnlyList<CoverageCase> Hidden =
    [
        .. ((double[])[0.05, 0.1, 0.15, 0.2, 0.3]).Select(floor => new CoverageCase
        {
            Name = Text($"floor of {floor} mm"), Model = "decay-floor", Curve = t => 48 * Math.Exp(-t / 2.35) + floor, TrueTau = 2.35,
            ChoosesModel = true, IsHidden = true,
        }),
        .. ((double[])[0.00005, 0.0001, 0.0002, 0.0005]).Select(drag => new CoverageCase
        {
            Name = Text($"drag of {drag:0.#####} /(mm s)"), Model = "drag",
            Curve = t => EnvelopeModels.Drag.Value(t, [3, 48, drag], [], out _), TrueTau = 3, Points = 300, SigmaMm = 0.2,
            ChoosesModel = true, IsHidden = true,
        }),
        .. ((double[])[0.02, 0.05, 0.1]).Select(friction => new CoverageCase
        {
            Name = Text($"dry friction of {friction} mm/s"), Model = "dry-friction",
            Curve = t => EnvelopeModels.DryFriction.Value(t, [3, 48, friction], [], out _), TrueTau = 3, SigmaMm = 0.2,
            ChoosesModel = true, IsHidden = true,
        }),
        .. (((double Hz, int Points)[])[(0.02, 300), (0.05, 300), (0.1, 75), (0.2, 75)]).Select(beat => new CoverageCase
        {
            Name = Text($"rise detuned by {beat.Hz} Hz, {beat.Points / 30.0} s"), Model = "transient", Curve = t => Beats(t + 0.1, beat.Hz), TrueTau = 2.35,
            Points = beat.Points, ChoosesModel = true, IsHidden = true,
        }),
        .. ((double[])[0.2, 0.4, 0.8]).Select(floor => new CoverageCase
        {
            Name = Text($"floor of {floor} mm, correlation 0.7"), Model = "decay-floor", Curve = t => 48 * Math.Exp(-t / 2.35) + floor, TrueTau = 2.35,
            Correlation = 0.7, ChoosesModel = true, IsHidden = true,
        }),
        new CoverageCase
        {
            Name = "drag of 0.0005 /(mm s), correlation 0.7", Model = "drag", Curve = t => EnvelopeModels.Drag.Value(t, [3, 48, 0.0005], [], out _),
            TrueTau = 3, Points = 300, SigmaMm = 0.2, Correlation = 0.7, ChoosesModel = true, IsHidden = true,
        },
    ];

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

    /// <summary>Simulates and fits.</summary>
    /// <param name="count">Number of series.</param>
    /// <param name="seed">Seed of the random numbers.</param>
    public CoverageResult Run(int count, int seed)
    {
        var normal = new Normal(0, 1, new MersenneTwister(seed, threadSafe: false));
        var options = new AnalysisOptions { Model = ChoosesModel ? EnvelopeFitOptions.AutomaticModel : Model };
        double[] times = [.. Enumerable.Range(0, Points).Select(i => i / 30.0)];
        int held = 0, heldNaively = 0, heldWithoutChoice = 0, chosen = 0, failures = 0;
        var estimates = new List<double>();
        var stated = new List<double>();
        var bounds = new List<double>();
        for (int run = 0; run < count; run++)
        {
            double[] amplitudes = new double[Points];
            double[] uncertainties = new double[Points];
            double noise = SigmaMm * normal.Sample(), slow = SlowErrorMm is null ? 0 : normal.Sample();
            for (int i = 0; i < Points; i++)
            {
                if (i > 0)
                    noise = Correlation * noise + SigmaMm * Math.Sqrt(1 - Correlation * Correlation) * normal.Sample();
                amplitudes[i] = Curve(times[i]) + noise;
                uncertainties[i] = double.NaN;
                if (SlowErrorMm is not null)
                {
                    slow = SlowCorrelation * slow + Math.Sqrt(1 - SlowCorrelation * SlowCorrelation) * normal.Sample();
                    double size = SlowErrorMm(Curve(times[i]));
                    amplitudes[i] += size * slow;
                    uncertainties[i] = double.Hypot(SigmaMm, size);
                }
            }

            SeriesAnalysis analysis = SeriesAnalyzer.Fit(
                new AmplitudeSeries(times.Select((t, i) => new AmplitudeSample { Frame = i, TimeSeconds = t, AmplitudeMm = amplitudes[i], AmplitudeUncertaintyMm = uncertainties[i] })),
                options, new LengthAccuracy { OffsetUncertaintyMm = OffsetUncertaintyMm });
            EnvelopeFit fit = analysis.Fit;
            if (!fit.Converged)
            {
                failures++;
                continue;
            }

            chosen += fit.ModelName == Model ? 1 : 0;
            FitParameter tau = analysis.Parameters.Single(parameter => parameter.Name == EnvelopeParameters.Tau);
            FitParameter bare = fit.Parameter(EnvelopeParameters.Tau)!;
            heldWithoutChoice += bare.Lower95 <= TrueTau && TrueTau <= bare.Upper95 ? 1 : 0;
            held += tau.Lower95 <= TrueTau && TrueTau <= tau.Upper95 ? 1 : 0;
            heldNaively += Math.Abs(tau.Value - TrueTau) <= 1.96 * tau.IndependentStandardUncertainty ? 1 : 0;
            estimates.Add(tau.Value);
            stated.Add(tau.StandardUncertainty);

            // The bound is the covariance for the true noise; at the estimate it differs from that at the truth by a part in a hundred.
            bounds.Add(tau.IndependentStandardUncertainty * SigmaMm
                / Math.Sqrt(fit.ResidualRmsMm * fit.ResidualRmsMm * fit.PointCount / fit.DegreesOfFreedom));
        }

        int n = estimates.Count;
        double mean = estimates.Average();
        double deviation = Math.Sqrt(estimates.Sum(value => (value - mean) * (value - mean)) / (n - 1));
        stated.Sort();
        bounds.Sort();
        return new CoverageResult(
            n, failures, (double)chosen / n, (double)held / n, (double)heldWithoutChoice / n, (double)heldNaively / n, mean - TrueTau, deviation, stated[n / 2],
            HasBound ? deviation / bounds[n / 2] : double.NaN);
    }

    private static double Beats(double s, double detuningHz)
    {
        double e = Math.Exp(-s / 2.35);
        return 30 * Math.Sqrt(1 - 2 * e * Math.Cos(2 * Math.PI * detuningHz * s) + e * e);
    }
}

/// <summary>What a coverage study found.</summary>
/// <param name="Series">Series whose fit converged.</param>
/// <param name="Failures">Series whose fit did not.</param>
/// <param name="RightModel">Share of them whose model is the one the series was made from.</param>
/// <param name="Coverage">Share of stated 95 % intervals that hold the true tau.</param>
/// <param name="CoverageWithoutChoice">The same for intervals that take the model for known.</param>
/// <param name="NaiveCoverage">
/// The same for the estimate plus and minus 1.96 standard uncertainties that take residuals as independent.
/// </param>
/// <param name="BiasSeconds">Mean estimate minus truth, in s.</param>
/// <param name="DeviationSeconds">Standard deviation of the estimates, in s.</param>
/// <param name="MedianUncertaintySeconds">Median of the stated standard uncertainty, in s.</param>
/// <param name="BoundRatio">Standard deviation over the Cramer-Rao bound; NaN where it is not worked out.</param>
internal sealed record CoverageResult(
    int Series, int Failures, double RightModel, double Coverage, double CoverageWithoutChoice, double NaiveCoverage, double BiasSeconds, double DeviationSeconds,
    double MedianUncertaintySeconds, double BoundRatio);
