using System.Numerics;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Analysis;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Contact;

namespace StreakTrack.Reporting.Tests;

/// <summary>
/// An invented analysis: a decay of 60 mm with tau = 2 s from 1 s on, one stray frame, the last second too short to measure.
/// </summary>
internal static class Samples
{
    public const double TauSeconds = 2;

    public const string HostileName = "bench <script>alert('1')</script> & \"wire\" \u202Egpj.mp4";

    public static double Envelope(double timeSeconds) => timeSeconds < 1 ? 60 : 60 * Math.Exp(-(timeSeconds - 1) / TauSeconds);

    /// <summary>Scatter of 0.08 mm standard deviation (a sum of twelve even numbers), the same in every run.</summary>
    private static readonly double[] Scatter = MakeScatter();

    private static double[] MakeScatter()
    {
        var random = new Random(7);
        return [.. Enumerable.Range(0, 240).Select(_ => 0.08 * (Enumerable.Range(0, 12).Sum(_ => random.NextDouble()) - 6))];
    }

    public static AmplitudeSeries Series { get; } = new(Enumerable.Range(0, 240).Select(frame =>
    {
        double time = frame / 30.0;
        double amplitude = Envelope(time) + Scatter[frame] + (frame == 90 ? 4 : 0);
        return new AmplitudeSample
        {
            Frame = frame,
            TimeSeconds = time,
            LeftMm = 150 - amplitude,
            RightMm = 150 + amplitude,
            AmplitudeMm = amplitude,
            AmplitudeUncertaintyMm = 0.08,
            ThresholdAmplitudeMm = amplitude + 0.8,
            Brightness = 900,
            Flags = frame == 90 ? FrameFlags.Outlier : frame >= 210 ? FrameFlags.BelowUsableRange : FrameFlags.None,
        };
    }));

    public static EnvelopeFit Fit { get; } =
        EnvelopeFitter.Fit(EnvelopeData.FromSeries(Series), new EnvelopeFitOptions { Model = "decay", ProfileIntervals = false });

    public static IReadOnlyList<RobustnessRecord> Robustness { get; } =
    [
        new("analysis", "as analysed (decay)", null, 2.0031, 0.0046, 0, null, 208),
        new("window-start", "window from 1.50 s on", 1.5, 2.001, 0.005, -0.0021, -1.1, 165),
        new("window-start", "window from 2.00 s on", 2, 1.998, 0.007, -0.0051, -1, 150),
        new("estimate", "threshold estimate of the ends", null, 2.050, 0.005, 0.0469, null, 208),
        new("weighting", "all points alike (no fit)", null, null, null, null, null, 0),
    ];

    public static AnalysisRecord Record { get; } = new()
    {
        RecordVersion = AnalysisRecord.CurrentVersion,
        Program = new ProgramRecord("StreakTrack", "1.2.3", ".NET 10.0.0", "reader 4.5"),
        Clip = new ClipRecord
        {
            File = HostileName,
            Sha256 = new string('a', 64),
            Bytes = 5_123_456,
            Container = "mp4",
            Codec = "h264",
            WidthPx = 1280,
            HeightPx = 720,
            Frames = 240,
            FirstTimeS = 0,
            LastTimeS = 7.967,
            MedianFrameSpacingS = 1 / 30.0,
        },
        Marks = [new(40, 361, 0), new(320, 361, 40), new(600, 360, 80), new(1160, 359, 160)],
        Options = new AnalysisOptions { FrequencyHz = 40, DistanceMm = 1150, DistanceUncertaintyMm = 3, ExcludedFrames = [7, 9] },
        Result = new ResultRecord
        {
            Scale = new ScaleRecord
            {
                Model = "projective",
                MmPerPx = 0.1427,
                ResidualRmsMm = 0.03,
                ResidualsMm = [0.02, -0.05, 0.04, -0.01],
                RelativeUncertainty = 4e-4,
            },
            Streak = new StreakRecord { Channel = "red", SpotSigmaPx = 4.3, BandOffsetPx = -33, BandWidthPx = 90 },
            Series = new SeriesRecord { Frames = 240, UsableFrames = 210, Sha256 = new string('b', 64) },
            Fit = new FitRecord
            {
                Model = "decay",
                Statement = "A single exponential is enough.",
                Parameters = new Dictionary<string, ParameterRecord>
                {
                    ["tau_s"] = new(2.00312, 0.00457, [1.9942, 2.0121], null),
                    ["amplitude0_mm"] = new(60.013, 0.041, [59.93, 60.09], null),
                    ["t0_s"] = new(1.0011, 0.0021, [0.997, null], null),
                },
                Stop = "the step became negligible",
                Converged = true,
                Points = 210,
                DegreesOfFreedom = 207,
                ReducedChiSquare = 1.04,
                ResidualRmsMm = 0.0801,
                WindowS = [0, 6.967],
                Models = [new("decay", null, 3, -812.3, 0, 2.00312, 0.00457), new("decay-floor", null, 4, -810.5, 1.8, 1.998, 0.0071)],
            },
            Robustness = Robustness,
            Oscillator = OscillatorQuantities.From(new UncertainValue(2.00312, 0.00457), new UncertainValue(40, 0)).All
                .ToDictionary(q => q.Key, q => new QuantityRecord(q.Value.Value, q.Value.StandardUncertainty)),
            Findings =
            [
                FindingKinds.BelowUsableRange.With("In 30 frames the streak is too short."),
                FindingKinds.Outliers.With("Frame 90 lies <4 mm above the curve & far off."),
            ],
        },
    };

    public static ReportContent Content => new()
    {
        Record = Record, Series = Series, Fit = Fit, Pictures = [Picture(0), Picture(90)],
    };

    /// <summary>A drive stepped through a resonance of 35 Hz with tau 0.5 s in steps so long that each settles.</summary>
    public static ReportContent SweepContent { get; } = Sweep();

    private static ReportContent Sweep()
    {
        double[] drives = [34.2, 34.6, 35, 35.4, 35.8];
        AmplitudeSample[] samples =
        [
            .. Enumerable.Range(0, 500).Select(i =>
            {
                double Steady(int k) => 40 / Math.Sqrt(1 + Math.Pow(2 * Math.PI * 0.5 * (drives[k] - 35), 2));
                int step = i / 100;
                double since = (i % 100) / 30.0, before = Steady(Math.Max(0, step - 1)), noise = 0.02 * Math.Sin(i * i);

                // Steps on one side of the resonance settle nearly without beats; how exactly does not matter to a figure.
                return new AmplitudeSample
                {
                    Frame = i, TimeSeconds = i / 30.0, AmplitudeMm = Steady(step) + ((before - Steady(step)) * Math.Exp(-since / 0.5)) + noise,
                };
            }),
        ];
        var series = new AmplitudeSeries(samples);
        SeriesAnalysis analysis = SeriesAnalyzer.Analyze(
            series, new AnalysisOptions { DriveSteps = [.. drives.Select((f, k) => new DriveStepRecord(f, k * 100 / 30.0))] });
        AnalysisRecord record = Record with
        {
            Result = Record.Result with { Fit = null, Sweep = ResultRecords.SweepOf(analysis), Robustness = [], Budgets = [] },
        };
        return ReportContent.Of(record, series, analysis, []);
    }

    /// <summary>A dark strip from row 300 of the clip on, with a bright line from end to end.</summary>
    public static ContactPicture Picture(int frame)
    {
        double halfPx = Series[frame].AmplitudeMm * 7;
        Image<Rgb24> picture = new(1280, 90, new Rgb24(16, 16, 18));
        for (int x = (int)(640 - halfPx); x <= (int)(640 + halfPx); x++)
            picture[x, 45] = new Rgb24(255, 80, 60);
        StreakReading reading = new()
        {
            Frame = frame,
            TimeSeconds = frame / 30.0,
            FirstEnd = new PicturePoint(640 - halfPx, 345),
            SecondEnd = new PicturePoint(640 + halfPx, 345),
            ThresholdFirstEnd = new PicturePoint(634 - halfPx, 345),
            ThresholdSecondEnd = new PicturePoint(646 + halfPx, 345),
        };
        return new ContactPicture(reading, picture, Matrix3x2.CreateTranslation(0, -300));
    }
}
