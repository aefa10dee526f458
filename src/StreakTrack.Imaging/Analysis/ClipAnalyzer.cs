using System.Globalization;
using System.Reflection;
using System.Runtime.InteropServices;
using System.Security.Cryptography;
using StreakTrack.Core;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Analysis;

/// <summary>The whole job on one clip, stage after stage: frames, streak ends, millimetres, series, fit, physical quantities, record.</summary>
public static class ClipAnalyzer
{
    /// <summary>A gap of more than this many median spacings is remarked on; phones stay below it when they merely vary their rate.</summary>
    private const double LongGap = 1.5;

    /// <summary>Standard uncertainty of the offset that all half lengths of a clip have in common, in standard deviations of the spot.</summary>
    /// <remarks>The visible edge of a long streak lies 0.70 standard deviations outside the turning point (universal edge at half of the
    /// maximum), and the spot's width, one number for the clip, stands in for a shape that halo, focus and the codec make not quite
    /// Gaussian: it is taken to be right to 10 %.</remarks>
    internal const double LengthOffsetInSpots = 0.70 * 0.1;

    /// <summary>What single frames scatter by in clips with little noise, in standard deviations of the spot: speckle, texture, and a phone's codec.</summary>
    private const double UsualScatterInSpots = 0.04;

    // What frames scatter by beyond that is noise, and what it leaves unknown is in part the same in all: the light without the laser is told by the
    // same noisy frames, and codecs carry a faint edge on from frame to frame. Simulated lit rooms show lengths off by about as much. Arcs scatter for their
    // phase, which no two frames share.
    private static double LengthOffsetOf(AmplitudeSeries series, double spotMm)
    {
        double[] scatter = [.. series.Where(s => s.IsUsable && !s.Flags.HasFlag(FrameFlags.Recovered)).Select(s => s.AmplitudeUncertaintyMm)];
        double all = 2 * scatter.Length < series.Count(s => s.IsUsable) || scatter.Length == 0 ? 0 : Medians.Upper(scatter);
        double usual = UsualScatterInSpots * spotMm, ofSpot = LengthOffsetInSpots * spotMm;
        return Math.Sqrt((ofSpot * ofSpot) + Math.Max(0, (all * all) - (usual * usual)));
    }

    /// <summary>Analyses a clip.</summary>
    /// <param name="clipPath">The clip.</param>
    /// <param name="marks">Ruler marks in the displayed picture, at least two.</param>
    /// <param name="options">Settings.</param>
    /// <param name="progress">Told how far the work is; may be null.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="UnusableInputException">The clip or the marks cannot be used, or there is no streak.</exception>
    /// <exception cref="MissingComponentException">The machine lacks what decoding needs.</exception>
    public static ClipAnalysis Analyze(
        string clipPath, IReadOnlyList<RulerMark> marks, AnalysisOptions options, IProgress<AnalysisProgress>? progress = null,
        CancellationToken cancellationToken = default)
    {
        var before = new FileInfo(clipPath);
        before.Refresh();
        ClipFacts facts = ClipFile.Inspect(clipPath, cancellationToken);

        // Marks that make no scale are refused before the long work.
        _ = ScaleOf(facts, marks, options);
        IReadOnlyList<RulerMark> along = options.BandMarks.Count == 0 ? marks : MarksOf(options.BandMarks);
        RulerScale scale = ScaleOf(facts, along, options);
        StreakOptions streak = StreakOptionsOf(options);

        // Reading the file for its hash and decoding it go side by side.
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        Task<string> hashing = Task.Run(() => Sha256Of(facts.Path, stop.Token), stop.Token);
        try
        {
            // The measurement may ask for the ticks; they need not be looked for twice.
            TickSearch? found = null;
            TickSearch TicksAlong(RulerPicture ruler) => found ??= TickScaleOf(facts, along, options, ruler, cancellationToken);
            StreakMeasurement measurement = StreakMeasurer.Measure(facts, scale, streak, progress, ruler => TicksAlong(ruler).Scale, cancellationToken);
            RequireUnchanged(before, facts);
            TickSearch ticks = along == marks ? TicksAlong(measurement.Ruler) : TickScaleOf(facts, marks, options, measurement.Ruler, cancellationToken);
            return Evaluate(facts, hashing.GetAwaiter().GetResult(), marks, options, measurement, ticks, progress, cancellationToken);
        }
        finally
        {
            stop.Cancel();
        }
    }

    private static void RequireUnchanged(FileInfo before, ClipFacts facts)
    {
        var after = new FileInfo(facts.Path);
        if (!after.Exists || after.Length != before.Length || after.LastWriteTimeUtc != before.LastWriteTimeUtc)
        {
            throw new UnusableInputException(facts.Path, "the clip was changed or removed while it was read",
                "Wait until it is copied completely, then run the analysis again.");
        }
    }

    /// <summary>The stage from marks to their scale, in which the streak is measured.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="marks">Ruler marks in the displayed picture, at least two.</param>
    /// <param name="options">Settings; the ruler's class counts here.</param>
    /// <exception cref="UnusableInputException">The marks make no scale.</exception>
    public static RulerScale ScaleOf(ClipFacts facts, IReadOnlyList<RulerMark> marks, AnalysisOptions options)
    {
        return RulerScaleFitter.Fit(marks, ScaleOptionsOf(facts, options));
    }

    /// <summary>The stage from marks to the scale of the results: that of the ruler's ticks where they are found and agree with the marks.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="marks">Ruler marks in the displayed picture, at least two.</param>
    /// <param name="options">Settings; the ruler's class and the use of ticks count here.</param>
    /// <param name="ruler">The ruler, as the measurement has it.</param>
    /// <param name="cancellationToken">Stops the search.</param>
    /// <exception cref="UnusableInputException">The marks make no scale.</exception>
    public static TickSearch TickScaleOf(
        ClipFacts facts, IReadOnlyList<RulerMark> marks, AnalysisOptions options, RulerPicture ruler, CancellationToken cancellationToken)
    {
        RulerScaleOptions scaleOptions = ScaleOptionsOf(facts, options);
        return options.Ticks switch
        {
            "auto" => TickFinder.Find(ruler, marks, scaleOptions, new TickFinderOptions(), cancellationToken),
            "off" => new TickSearch(false, RulerScaleFitter.Fit(marks, scaleOptions), marks, double.NaN, [], []),
            _ => throw new ArgumentException($"Unknown use of ticks '{options.Ticks}'.", nameof(options)),
        };
    }

    private static RulerScaleOptions ScaleOptionsOf(ClipFacts facts, AnalysisOptions options) => new()
    {
        AccuracyClass = ClassOf(options.RulerClass),
        PictureCentre = new PicturePoint((facts.Orientation.DisplayWidth - 1) / 2.0, (facts.Orientation.DisplayHeight - 1) / 2.0),
    };

    /// <summary>The settings of the streak stage. Readings made with equal ones along the same marks are equal.</summary>
    /// <exception cref="UnusableInputException">A setting, of a record perhaps, is out of its range.</exception>
    public static StreakOptions StreakOptionsOf(AnalysisOptions options)
    {
        var streak = new StreakOptions
        {
            Reader = Enum.Parse<ReaderChoice>(options.Reader, ignoreCase: true),
            ThresholdFraction = options.ThresholdFraction,
            SearchOffsetPx = options.BandOffsetPx,
            SearchHalfWidthPx = options.BandHalfWidthPx,
            FrequencyHz = options.FrequencyHz * options.TimeScale,
        };
        try
        {
            streak.Validate();
            return streak;
        }
        catch (ArgumentOutOfRangeException e)
        {
            throw new UnusableInputException("the settings", e.Message.Split(" (Parameter")[0].TrimEnd('.'), "Correct the setting.", e);
        }
    }

    /// <summary>Marks as the record holds them.</summary>
    public static IReadOnlyList<RulerMark> MarksOf(IEnumerable<MarkRecord> records) =>
        [.. records.Select(m => new RulerMark(new PicturePoint(m.UPx, m.VPx), m.ReadingMm))];

    /// <summary>The stages behind the measurement: millimetres, series, fit, physical quantities, record. Nothing is decoded.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="sha256">SHA-256 of the clip, as <see cref="Sha256Of"/> gives it.</param>
    /// <param name="marks">Ruler marks in the displayed picture, at least two.</param>
    /// <param name="options">Settings.</param>
    /// <param name="measurement">The readings.</param>
    /// <param name="progress">Told how far the work is; may be null.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public static ClipAnalysis Evaluate(
        ClipFacts facts, string sha256, IReadOnlyList<RulerMark> marks, AnalysisOptions options,
        StreakMeasurement measurement, IProgress<AnalysisProgress>? progress = null, CancellationToken cancellationToken = default) =>
        Evaluate(
            facts, sha256, marks, options, measurement, TickScaleOf(facts, marks, options, measurement.Ruler, cancellationToken), progress,
            cancellationToken);

    private static ClipAnalysis Evaluate(
        ClipFacts facts, string sha256, IReadOnlyList<RulerMark> marks, AnalysisOptions options, StreakMeasurement measurement, TickSearch ticks,
        IProgress<AnalysisProgress>? progress, CancellationToken cancellationToken)
    {
        RulerScale scale = ticks.Scale;
        int width = facts.Orientation.DisplayWidth, height = facts.Orientation.DisplayHeight;
        AmplitudeSeries series = SeriesOf(measurement, scale, options);

        progress?.Report(new AnalysisProgress("fitting", 0, null));
        double mmPerPx = scale.MiddleMillimetresPerPixel;
        double offsetMm = options.OffsetUncertaintyMm ?? LengthOffsetOf(series, measurement.SpotSigmaPx * mmPerPx);
        SeriesAnalysis seriesAnalysis = SeriesAnalyzer.Analyze(
            series, options, LengthAccuracy.Of(scale, ClassOf(options.RulerClass), offsetMm), cancellationToken);
        var times = new FrameTimes([.. measurement.Readings.Select(r => r.TimeSeconds)], measurement.LostFrames, measurement.ReaderName);
        var record = new AnalysisRecord
        {
            RecordVersion = AnalysisRecord.CurrentVersion,
            Program = ProgramOf(measurement.ReaderName),
            Clip = ClipOf(facts, times, sha256),
            Marks = ResultRecords.Of(marks),
            Options = options,
            Result = new ResultRecord
            {
                Scale = ResultRecords.Of(scale, marks) with { Ticks = ticks.Found ? TicksOf(ticks) : null },
                Streak = StreakOf(measurement, times, options),
                Series = ResultRecords.Of(series),
                Fit = ResultRecords.FitOf(seriesAnalysis),
                Sweep = ResultRecords.SweepOf(seriesAnalysis),
                Robustness = ResultRecords.RobustnessOf(seriesAnalysis),
                Budgets = ResultRecords.BudgetsOf(seriesAnalysis),
                Oscillator = ResultRecords.OscillatorOf(seriesAnalysis),
                Findings = ResultRecords.Ordered(
                [
                    .. facts.Findings, .. FindingsOf(times), .. FindingsOf(marks, width, height), .. FindingsOf(ticks),
                    .. FindingsOf(series, scale), .. FindingsOf(measurement, options.TimeScale), .. seriesAnalysis.Findings,
                ]),
            },
        };
        return new ClipAnalysis(record, scale, measurement, series, seriesAnalysis);
    }

    /// <summary>The stage from readings to amplitudes against time.</summary>
    /// <param name="measurement">The readings.</param>
    /// <param name="scale">The scale.</param>
    /// <param name="options">Settings; distance, time scale and excluded frames count here.</param>
    public static AmplitudeSeries SeriesOf(StreakMeasurement measurement, RulerScale scale, AnalysisOptions options)
    {
        OpticalLever? lever = options.DistanceMm is double distance
            ? new OpticalLever(new UncertainValue(distance, options.DistanceUncertaintyMm))
            : null;
        return SeriesBuilder.Build(
            [.. measurement.Readings.Select(r => r with { TimeSeconds = r.TimeSeconds * options.TimeScale })],
            scale, lever, options.ExcludedFrames);
    }

    /// <summary>All remarks on the streak, those that go with time included.</summary>
    /// <param name="measurement">The readings.</param>
    /// <param name="timeScale">Real time over the clip's time, as in <see cref="AnalysisOptions.TimeScale"/>.</param>
    public static IReadOnlyList<Finding> FindingsOf(StreakMeasurement measurement, double timeScale)
    {
        if (measurement.Dot is MovingDot dot)
            return [FindingKinds.MovingDot.With(MessageOf(dot, timeScale)), .. measurement.Findings];
        if (double.IsNaN(measurement.AliasFrequencyHz))
            return measurement.Findings;
        string moving = Invariant(
            $" The arcs move to and fro {measurement.AliasFrequencyHz / timeScale:F3} times a second: the frequency, folded by the frame rate.");
        return
        [
            .. measurement.Findings.Select(
                f => f.Code == FindingKinds.PartialExposure.Code ? f with { Message = f.Message + moving } : f),
        ];
    }

    /// <summary>This program as it signs its records.</summary>
    /// <param name="readerName">The clip reader used; null without a clip.</param>
    public static ProgramRecord ProgramOf(string? readerName)
    {
        string version = typeof(ClipAnalyzer).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()!.InformationalVersion;
        return new ProgramRecord("streaktrack", version, RuntimeInformation.FrameworkDescription, readerName);
    }

    /// <summary>A clip before its frame times were read: times are those that the container announces.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="sha256">SHA-256 of the clip, as <see cref="Sha256Of"/> gives it.</param>
    /// <param name="frames">Frames, as far as they are known.</param>
    public static ClipRecord ClipOf(ClipFacts facts, string sha256, int frames)
    {
        double durationSeconds = facts.DurationSeconds ?? 0;
        return new ClipRecord
        {
            File = Path.GetFileName(facts.Path),
            Sha256 = sha256,
            Bytes = facts.Bytes,
            Container = facts.Container,
            Codec = facts.Codec,
            WidthPx = facts.Orientation.DisplayWidth,
            HeightPx = facts.Orientation.DisplayHeight,
            Frames = frames,
            FirstTimeS = facts.StartSeconds,
            LastTimeS = facts.StartSeconds + durationSeconds,
            MedianFrameSpacingS = frames > 0 ? durationSeconds / frames : 0,
        };
    }

    /// <summary>SHA-256 of a file, lower-case hexadecimal.</summary>
    public static string Sha256Of(string path, CancellationToken cancellationToken = default)
    {
        using FileStream stream = File.OpenRead(path);
        return Convert.ToHexStringLower(SHA256.HashDataAsync(stream, cancellationToken).AsTask().GetAwaiter().GetResult());
    }

    private static ClipRecord ClipOf(ClipFacts facts, FrameTimes times, string sha256) =>
        ClipOf(facts, sha256, times.TimesSeconds.Count) with
        {
            LostFrames = times.LostFrames,
            FirstTimeS = times.TimesSeconds[0],
            LastTimeS = times.TimesSeconds[^1],
            MedianFrameSpacingS = times.MedianSpacingSeconds,
        };

    private static StreakRecord StreakOf(StreakMeasurement measurement, FrameTimes times, AnalysisOptions options)
    {
        // Frame times of a slow motion are stretched, and frequencies by them shrunk.
        double alias = measurement.AliasFrequencyHz / options.TimeScale, rate = times.RateHz / options.TimeScale;
        double uncertainty = measurement.AliasFrequencyUncertaintyHz / options.TimeScale;
        bool seen = double.IsFinite(alias) && double.IsFinite(rate) && rate > 0;
        return new StreakRecord
        {
            Channel = measurement.Channel.ToString().ToLowerInvariant(),
            SpotSigmaPx = measurement.SpotSigmaPx,
            BandOffsetPx = measurement.BandOffsetPx,
            BandWidthPx = measurement.Band.WidthPx,
            ExposurePeriods = double.IsFinite(measurement.ExposurePeriods) ? measurement.ExposurePeriods : null,
            AliasFrequencyHz = seen ? new QuantityRecord(alias, uncertainty) : null,
            FrequencyHz = seen && options.FrequencyHz is double expected
                ? new QuantityRecord(AliasFrequency.Nearest(alias, rate, expected), uncertainty)
                : null,
        };
    }

    private static string MessageOf(MovingDot dot, double timeScale)
    {
        UncertainValue alias = dot.AliasHz;
        string seen = Invariant(
            $"The dot swings by about {dot.SwingMm:0} mm at {alias.Value / timeScale:0.0000} Hz (u = {alias.StandardUncertainty / timeScale:0.0000} Hz), ");
        string decay = dot.TauSeconds is { } tau
            ? Invariant($"and its swing decays with {tau.Value * timeScale:0.000} s (u = {tau.StandardUncertainty * timeScale:0.000} s)")
            : "and its swing does not decay within the clip";
        string meaning = Invariant(
            $"; the oscillation is that far from a multiple of the rate of the flashes, or of the frames. Places scatter by {dot.ResidualMm:0.0} mm about that.");
        return seen + decay + meaning;
    }

    internal static RulerAccuracyClass ClassOf(string name) => name switch
    {
        "none" => RulerAccuracyClass.None,
        "I" => RulerAccuracyClass.I,
        "II" => RulerAccuracyClass.II,
        "III" => RulerAccuracyClass.III,
        _ => throw new ArgumentException($"Unknown ruler class '{name}'.", nameof(name)),
    };

    internal static TicksRecord TicksOf(TickSearch search) => new()
    {
        StepMm = search.StepMm,
        ResidualRmsMm = Math.Sqrt(search.Scale.Residuals.Average(r => r.ResidualMm * r.ResidualMm)),
        Used = ResultRecords.Of(search.Marks),
    };

    // Where ticks were found, the scale's own remarks would be on single ticks; the search has remarked on the marks.
    internal static IReadOnlyList<Finding> FindingsOf(TickSearch ticks) =>
        ticks.Found ? ticks.Findings : [.. ticks.Scale.Findings, .. ticks.Findings];

    private static IEnumerable<Finding> FindingsOf(FrameTimes times)
    {
        if (!times.IsStrictlyIncreasing)
            yield return FindingKinds.BrokenFrameTimes.With("Frame times repeat or run backwards.");
        else if (times.MaxSpacingSeconds > LongGap * times.MedianSpacingSeconds)
        {
            yield return FindingKinds.IrregularFrameTimes.With(Invariant(
                $"Frames are {1000 * times.MinSpacingSeconds:0.0} ms to {1000 * times.MaxSpacingSeconds:0.0} ms apart."));
        }

        if (times.LostFrames > 0)
        {
            yield return FindingKinds.FramesLost.With(
                $"{times.LostFrames} of {times.LostFrames + times.TimesSeconds.Count} frames could not be decoded.");
        }
    }

    internal static IEnumerable<Finding> FindingsOf(IReadOnlyList<RulerMark> marks, int width, int height)
    {
        for (int i = 0; i < marks.Count; i++)
        {
            PicturePoint p = marks[i].Point;
            if (!(p.UPx >= -0.5 && p.UPx <= width - 0.5 && p.VPx >= -0.5 && p.VPx <= height - 0.5))
            {
                yield return FindingKinds.MarksOutsidePicture.With(Invariant(
                    $"Mark {i + 1} (reading {marks[i].ReadingMm} mm) lies at ({p.UPx:0.#}, {p.VPx:0.#}), outside the picture of {width} x {height} px."));
            }
        }
    }

    private static IEnumerable<Finding> FindingsOf(AmplitudeSeries series, RulerScale scale)
    {
        int outside = series.Count(s => s.IsUsable && s.Flags.HasFlag(FrameFlags.OutsideMarks));
        if (outside > 0)
        {
            yield return FindingKinds.OutsideMarks.With(Invariant(
                $"In {outside} frames the streak reaches beyond the marks at {scale.MinReadingMm:0.#} mm and {scale.MaxReadingMm:0.#} mm."));
        }
    }

    private static string Invariant(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
