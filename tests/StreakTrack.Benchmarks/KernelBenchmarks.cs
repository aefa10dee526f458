using BenchmarkDotNet.Attributes;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Benchmarks;

/// <summary>The parts that take the time of an analysis, each alone.</summary>
[MemoryDiagnoser]
public class KernelBenchmarks
{
    /// <summary>Name of the decay fit.</summary>
    public const string DecayFitName = "decay fit with profile intervals";

    /// <summary>Name of the studies that repeat it.</summary>
    public const string StudyName = "robustness table and bootstrap of that fit";

    private const int Width = 1920, Height = 128;

    private readonly RawFrame _frame = new()
    {
        Region = new PixelRegion(0, 0, Width, Height), Layout = PlaneLayout.Yuv420, Plane0 = new byte[Width * Height],
        Plane1 = new byte[Width * Height / 4], Plane2 = new byte[Width * Height / 4],
    };

    private readonly LinearLight _light = new(
        new ColourDescription(ColourMatrix.Bt709, false, TransferFunction.Bt709, true, false), LightChannel.Red);

    private readonly float[] _picture = new float[Width * Height], _profile = new float[Width], _even = new float[Width];
    private readonly ProfileFitter _fitter = new();
    private readonly ProfileNoise _noise = new(0.002, 0.03, 5);
    private readonly StreakShape _shape = new(420, 960, 400, 0, 0.3, 6, 1.15);
    private StripGeometry _strip = null!;
    private StripSampler _sampler = null!;
    private StripProfiler _profiler = null!;
    private float[] _samples = [], _streak = [];
    private EnvelopeData _data = null!;
    private EnvelopeFit _fit = null!;

    /// <summary>Makes the data; everything is drawn from a fixed seed.</summary>
    [GlobalSetup]
    public void Prepare()
    {
        var random = new Random(1);
        foreach (byte[] plane in new[] { _frame.Plane0, _frame.Plane1, _frame.Plane2 })
            random.NextBytes(plane);
        _strip = StripGeometry.Along(DisplayOrientation.Upright(Width, Height), new RulerAxis(new PicturePoint(0, 60), 1, 0.004), 42);
        _sampler = new StripSampler(_strip, _frame.Region);
        _samples = new float[_sampler.Count];
        float[] lit = new float[_sampler.Count], dark = new float[_sampler.Count];
        for (int i = 0; i < lit.Length; i++)
        {
            double t = ((i / _strip.LengthPx) - _strip.HalfWidthPx) / 6.0;
            lit[i] = (float)(0.3 * Math.Exp(-0.5 * t * t));
        }

        _profiler = new StripProfiler(_strip, AcrossShape.Of(_strip, [lit], dark, 6, 1), dark, 1);

        Array.Fill(_even, 1);
        var model = new StreakProfile();
        model.Evaluate(_shape, _even, 0, Width);
        _streak = [.. model.Values.Take(Width).Select(v => v * (float)(1 + (0.03 * Normal())) + (float)(0.002 * Normal()))];

        double[] times = [.. Enumerable.Range(0, 600).Select(k => k / 60.0)];
        double[] amplitudes = [.. times.Select(t => (45 * Math.Exp(-t / 2.1)) + (0.05 * Normal()))];
        _data = EnvelopeData.FromNumbers(times, amplitudes, [.. times.Select(_ => 0.05)]);
        _fit = EnvelopeFitter.Fit(_data, new EnvelopeFitOptions { Model = "decay" });

        double Normal() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
    }

    /// <summary>A frame's band to linear light, to the strip, to the profile: what each frame costs beside decoding.</summary>
    [Benchmark(Description = "a frame's band to its profile")]
    public float StripProfile()
    {
        _light.Convert(_frame, _picture);
        _sampler.Sample(_picture, _strip.Placement(), _samples);
        _profiler.Profile(_samples, _profile);
        return _profile[960];
    }

    /// <summary>The turning points of one streak of 840 px, from a start that is off by a spot.</summary>
    [Benchmark(Description = "turning points of one streak")]
    public double ArcFit() =>
        _fitter.Fit(_streak, _even, _noise, _shape with { HalfLengthPx = 414, CentrePx = 963 }, ProfileConstraints.Free(0, 0.02)).Shape.HalfLengthPx;

    /// <summary>A decay fitted to 600 points, with profile intervals.</summary>
    [Benchmark(Description = DecayFitName)]
    public int DecayFit() => EnvelopeFitter.Fit(_data, new EnvelopeFitOptions { Model = "decay" }).PointCount;

    /// <summary>The robustness table of that fit, and a block bootstrap.</summary>
    [Benchmark(Description = StudyName)]
    public int RobustnessAndBootstrap() =>
        RobustnessStudy.Run(_data, new EnvelopeFitOptions { Model = "decay" }, _fit).Rows.Count
        + (BlockBootstrap.Run(_fit) is null ? 0 : 1);
}
