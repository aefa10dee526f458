using StreakTrack.Core;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>A measured clip that can still be asked: the profile of any frame, and the same clip under another threshold, neither of which
/// decodes it again.</summary>
/// <remarks>The profiles lie in a temporary file until the object is disposed of. Questions may come from several threads.</remarks>
public sealed class StreakStudy : IDisposable
{
    private readonly StreakSurvey _survey;
    private readonly ClipPass _pass;
    private readonly RulerScale _scale;
    private readonly StreakScene _scene;
    private readonly StreakOptics _optics;
    private readonly Lazy<StraightRuler?> _straightRuler;
    private readonly StraightRuler? _straight;
    private readonly bool _ownsPass;

    private StreakStudy(
        StreakSurvey survey, ClipPass pass, RulerScale scale, Lazy<StraightRuler?> straightRuler, StreakOptions options, bool ownsPass,
        CancellationToken cancellationToken)
    {
        (_survey, _pass, _scale, _straightRuler, Options, _ownsPass) = (survey, pass, scale, straightRuler, options, ownsPass);
        (_scene, _optics) = Look();
        if (_optics.IsPartial && straightRuler.Value is { } found)
        {
            // Which swing an arc belongs to is told by its place in it.
            _straight = found;
            (_scene, _optics) = Look();
        }

        Measurement = MeasureAll(cancellationToken);

        (StreakScene, StreakOptics) Look()
        {
            var scene = StreakScene.Of(
                new ProfileView(pass.Profiles, _straight), survey.Band, [.. pass.Frames.Select(f => f.Gain)], survey.Across.SigmaPx, options, cancellationToken);
            return (scene, StreakOptics.Of(
                scene, [.. pass.Frames.Select(f => f.TimeSeconds)], survey.Across.SigmaPx, [.. pass.Frames.Select(f => f.AcrossSigmaPx)],
                LongestExposure(), RowsMatter, options.SeparateExposures, cancellationToken));
        }

        // In periods; a photograph's exposure has nothing to do with the time between photographs.
        double LongestExposure() => options is { FrequencyHz: { } frequency, SeparateExposures: false }
            && Medians.Spacing([.. pass.Frames.Select(f => f.TimeSeconds)]) is var spacing && spacing > 0
                ? RoughFrequency * frequency * spacing
                : double.PositiveInfinity;
    }

    /// <summary>How far above a rough frequency the true one may lie.</summary>
    private const double RoughFrequency = 1.03;

    /// <summary>The settings it was made with.</summary>
    public StreakOptions Options { get; }

    /// <summary>The readings.</summary>
    public StreakMeasurement Measurement { get; }

    /// <summary>How far from the band's middle the streak's light reaches, in px.</summary>
    internal double StreakHalfWidthPx => StripProfiler.QuietReach * _survey.Across.SigmaPx;

    /// <summary>Where the ruler lies in each frame since the first; null where it stands still, or cannot be followed.</summary>
    internal IReadOnlyList<RulerMotion>? Motions =>
        _survey.Tracking is null ? null : [.. _pass.Frames.Select(f => f.Motion).OfType<RulerMotion>()];

    /// <summary>How far from the marked line the streak is looked for at least, in mm: as far as a ruler is broad beside its ticks (common practice, no
    /// source). A picture may show no more than that.</summary>
    private const double SearchedMm = 20;

    /// <summary>The band in which the streak is looked for.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="scale">The ruler's scale in the clip's first frame.</param>
    /// <param name="options">Settings.</param>
    /// <exception cref="Core.UnusableInputException">The line through the marks does not cross the picture.</exception>
    public static StripGeometry SearchBand(ClipFacts facts, RulerScale scale, StreakOptions options)
    {
        int smallerSide = Math.Min(facts.Orientation.CodedWidth, facts.Orientation.CodedHeight);
        int reach = Math.Max(smallerSide / 4, (int)(SearchedMm / scale.MiddleMillimetresPerPixel));
        StripGeometry wide = StripGeometry.Along(facts.Orientation, RulerAxis.Of(scale), options.SearchHalfWidthPx ?? reach);
        return options.SearchOffsetPx == 0 ? wide : wide.Along(options.SearchOffsetPx, 0, wide.HalfWidthPx);
    }

    /// <summary>Passes over a clip and measures it; see <see cref="StreakMeasurer.Measure"/>.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="scale">The ruler's scale in the clip's first frame.</param>
    /// <param name="options">Settings.</param>
    /// <param name="progress">Told of the frames measured; may be null.</param>
    /// <param name="rough">Told of what each frame shows at first sight, as the pass reaches it; may be null.</param>
    /// <param name="tickScale">The better scale that the ruler's picture gives, asked for where perspective matters for more than the readings; null
    /// for <paramref name="scale"/>.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="Core.UnusableInputException">The clip cannot be decoded, or has no streak.</exception>
    public static StreakStudy Of(
        ClipFacts facts, RulerScale scale, StreakOptions options, IProgress<AnalysisProgress>? progress, IProgress<RoughReading>? rough,
        Func<RulerPicture, RulerScale>? tickScale, CancellationToken cancellationToken) =>
        Of(new ClipFrames(facts, options.Reader), scale, options, progress, rough, tickScale, cancellationToken);

    /// <summary>The same of frames from wherever they come.</summary>
    internal static StreakStudy Of(
        FrameSource source, RulerScale scale, StreakOptions options, IProgress<AnalysisProgress>? progress, IProgress<RoughReading>? rough,
        Func<RulerPicture, RulerScale>? tickScale, CancellationToken cancellationToken)
    {
        options.Validate();
        progress?.Report(new AnalysisProgress("looking for the streak", 0, null));
        StripGeometry wide = SearchBand(source.Facts, scale, options);
        PixelRegion searched = RulerTracking.RegionAround(wide, scale);
        FrameSample sample = source.Sample(options.SurveyFrames, searched, cancellationToken);
        StreakSurvey survey = StreakSurvey.Of(source.Facts, scale, wide, sample, options.Channel);

        // What was looked at for it is large, and the decoder beside this program now wants as much.
        GC.Collect(GC.MaxGeneration, GCCollectionMode.Aggressive, blocking: true, compacting: true);
        ClipPass pass = ClipPass.Over(source, survey, searched, options, progress, rough, cancellationToken);
        try
        {
            return new StreakStudy(survey, pass, scale, StraightRulerOf(survey, scale, tickScale), options, ownsPass: true, cancellationToken);
        }
        catch
        {
            pass.Dispose();
            throw;
        }
    }

    private static Lazy<StraightRuler?> StraightRulerOf(StreakSurvey survey, RulerScale scale, Func<RulerPicture, RulerScale>? tickScale) =>
        new(() => StraightRuler.Of(tickScale?.Invoke(survey.Ruler) ?? scale, survey.Band));

    /// <summary>Writes down all that the pass over the clip has found, so that <see cref="Load"/> needs no clip.</summary>
    /// <param name="stream">Where to.</param>
    /// <param name="cancellationToken">Stops the writing.</param>
    public void Save(Stream stream, CancellationToken cancellationToken = default) =>
        StudyStream.Write(stream, _survey, _pass, Options, cancellationToken);

    /// <summary>A study from what <see cref="Save"/> wrote down: the same readings, bit for bit, on the same machine.</summary>
    /// <param name="stream">What was written, unchanged, by the same build of this library.</param>
    /// <param name="facts">The clip.</param>
    /// <param name="scale">The scale that the study was made with.</param>
    /// <param name="later">Settings whose threshold and frequency are used; they need not be those of before.</param>
    /// <param name="tickScale">The better scale that the study was made with; null if none.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="IOException">It cannot be read, or ends early.</exception>
    /// <exception cref="InvalidDataException">It was not written by <see cref="Save"/>.</exception>
    /// <exception cref="FormatException">A text in it has no length that can be.</exception>
    /// <exception cref="SixLabors.ImageSharp.ImageFormatException">A picture in it cannot be read.</exception>
    public static StreakStudy Load(
        Stream stream, ClipFacts facts, RulerScale scale, StreakOptions later, Func<RulerPicture, RulerScale>? tickScale = null,
        CancellationToken cancellationToken = default)
    {
        (StreakSurvey survey, ClipPass pass, StreakOptions options) = StudyStream.Read(stream, facts, cancellationToken);
        try
        {
            options = options.WithLaterOf(later);
            options.Validate();
            return new StreakStudy(survey, pass, scale, StraightRulerOf(survey, scale, tickScale), options, ownsPass: true, cancellationToken);
        }
        catch
        {
            pass.Dispose();
            throw;
        }
    }

    /// <summary>The same clip measured with another threshold or frequency, from the same pass. Lives no longer than this study.</summary>
    /// <param name="later">Settings whose threshold and frequency are used.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public StreakStudy WithLaterOf(StreakOptions later, CancellationToken cancellationToken = default)
    {
        StreakOptions options = Options.WithLaterOf(later);
        options.Validate();
        return new StreakStudy(_survey, _pass, _scale, _straightRuler, options, ownsPass: false, cancellationToken);
    }

    /// <summary>The profile of one frame, with its fit and ends.</summary>
    /// <param name="frame">Position in the clip, from 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">There is no such frame.</exception>
    public FrameProfile ProfileOf(int frame)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(frame);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(frame, Measurement.Readings.Count);
        StreakReading reading = Measurement.Readings[frame];
        RulerMotion? motion = _pass.Frames[frame].Motion;
        var work = new StreakOptics.Workspace(_scene.Length);
        _scene.Read(frame, work.Light);
        StripGeometry band = _survey.Band;
        double far = band.LengthPx - 1, half = band.HalfWidthPx;
        PicturePoint[] corners = [Shown(0, -half), Shown(far, -half), Shown(far, half), Shown(0, half)];
        if (_scene.Coarse[frame] is not CoarseStreak coarse)
        {
            return new FrameProfile(
                reading, work.Light, [], double.NaN, double.NaN, double.NaN, double.NaN, double.NaN, double.NaN, corners, []);
        }

        float[] model = [];
        double first = double.NaN, second = double.NaN;
        ProfileFit fit = Fit(frame, coarse, work);
        if (fit.Converged)
        {
            (first, second) = (fit.Shape.CentrePx - fit.Shape.HalfLengthPx, fit.Shape.CentrePx + fit.Shape.HalfLengthPx);
            work.Fitter.Model.Evaluate(fit.Shape, _optics.Response, 0, _scene.Length);
            model = work.Fitter.Model.Values.AsSpan(0, _scene.Length).ToArray();
        }

        double fraction = Options.ThresholdFraction;
        return new FrameProfile(
            reading, work.Light, model, coarse.FirstEndPx, coarse.SecondEndPx, fraction * coarse.FirstPeak, fraction * coarse.SecondPeak,
            first, second, corners, double.IsNaN(first) ? [] : [Shown(ToStrip(first), 0), Shown(ToStrip(second), 0)]);

        PicturePoint Shown(double s, double t) =>
            motion is RulerMotion moved ? moved.ToFrame(band.ToDisplay(s, t)) : band.ToDisplay(s, t);
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        if (_ownsPass)
            _pass.Dispose();
    }

    private double ToStrip(double place) => _straight?.ToStrip(place) ?? place;

    private PicturePoint ToDisplay(double place) => _survey.Band.ToDisplay(ToStrip(place), 0);

    // A photograph is exposed for so long that it does not matter when its rows were.
    private bool RowsMatter => _survey.Band.CrossesRows && !Options.SeparateExposures;

    private StreakMeasurement MeasureAll(CancellationToken cancellationToken)
    {
        var readings = new StreakReading[_pass.Profiles.Count];
        bool separate = Options.SeparateExposures;
        var lightShares = new LightShare[readings.Length];
        bool[] repeated = separate ? new bool[readings.Length] : RepeatedPictures.Of([.. _pass.Frames.Select(f => f.Change)]);
        Parallel.For(0, readings.Length, new ParallelOptions { CancellationToken = cancellationToken },
            () => new StreakOptics.Workspace(_scene.Length), (k, _, work) =>
            {
                (readings[k], lightShares[k]) = Read(_pass.Frames[k], repeated[k] && !_optics.LooksAlike(k), work);
                return work;
            }, _ => { });
        if (RowsMatter)
            FlagHidden(readings, lightShares);

        // A disturbance r of the brightness over about a spot moves an edge by r times peak over slope, about r sigma; of two ends the
        // half length takes 1/sqrt 2.
        UncertaintyCheck.Scale(readings, _scene.Noise.RelativeSd * _optics.SigmaPx / Math.Sqrt(2), againstNeighbours: !separate);
        MovingDot? dot = separate ? null : MovingDot.Of(
            _scene.Coarse, [.. readings.Select(r => r.TimeSeconds)], place => _scale.ReadingMmAt(ToDisplay(place)),
            Math.Min(_survey.Across.SigmaPx, _optics.SigmaPx));
        bool middleKept = true;
        if (dot is not null)
        {
            // What is seen in one frame is no streak, whatever its length.
            for (int k = 0; k < readings.Length; k++)
                readings[k] = readings[k] with { Flags = (readings[k].Flags & ~FrameFlags.Recovered) | FrameFlags.PartialExposure };
        }
        else if (!_optics.IsPartial && !separate)
            middleKept = SteadyMiddle.Check(readings, _scale, _optics.SigmaPx);

        int inDoubt = readings.Where((r, k) => _scene.Coarse[k] is null or { IsInPieces: true } || (r.Flags & (FrameFlags.PartHidden | FrameFlags.ProfileFailed)) != 0).Count();
        bool wholeIsUsual = middleKept && inDoubt <= MostInDoubt * readings.Length;
        PhaseTrack? track = dot is null ? _optics.Track : null;
        return new StreakMeasurement
        {
            Readings = readings,
            Band = _survey.Band,
            BandOffsetPx = Options.SearchOffsetPx + _survey.OffsetPx,
            Channel = _survey.Channel,
            SpotSigmaPx = _optics.SigmaPx,
            ExposurePeriods = double.IsNaN(_optics.SigmaUncertaintyPx) ? double.NaN : _optics.Periods,
            Dot = dot,
            AliasFrequencyHz = track?.AliasHz ?? double.NaN,
            AliasFrequencyUncertaintyHz = track?.AliasUncertaintyHz ?? double.NaN,
            LostFrames = _pass.LostFrames,
            ReaderName = _pass.ReaderName,
            Findings = [.. _pass.ReaderFindings, .. StreakFindings.Of(readings, _pass.Frames, _survey, _optics, dot, wholeIsUsual)],
            Ruler = _survey.Ruler,
            Pictures = _pass.Pictures,
        };
    }

    private ProfileFit Fit(int frame, in CoarseStreak coarse, StreakOptics.Workspace work)
    {
        double sigma = _optics.SigmaPxOf(frame);
        StreakShape start = _optics.Guess(coarse, frame, work.Light, _scene.Noise, work.Scan);
        ProfileFit fit = FitFrom(start);
        if (_optics.IsPartial || (fit.Converged && Agree(coarse, fit.Shape, slackPx: 0)))
            return fit;

        // Stray light beside the streak may pass for one of its ends; the end nearer to the middle of the clip's streaks is then the better one.
        double half = Math.Min(_optics.CentrePx - coarse.FirstEndPx, coarse.SecondEndPx - _optics.CentrePx);
        if (!(half > CoarseStreak.EdgeSigma * sigma))
            return fit;
        ProfileFit nearer = FitFrom(start with { CentrePx = _optics.CentrePx, HalfLengthPx = CoarseStreak.Inner(half, sigma) });
        return nearer.Converged && !(fit.Converged && fit.ReducedChiSquare < nearer.ReducedChiSquare) ? nearer : fit;

        ProfileFit FitFrom(in StreakShape shape) => work.Fitter.Fit(
            work.Light, _optics.Response, _scene.Noise, shape, _optics.Known(frame, 0, _optics.PeriodsSd));
    }

    // The threshold's known offset lies between that of a long streak and that of a resting spot; allow half a sigma beyond.
    private static bool Agree(in CoarseStreak coarse, in StreakShape shape, double slackPx)
    {
        double offset = coarse.HalfLengthPx - shape.HalfLengthPx, sigma = shape.SigmaPx;
        return offset > (0.2 * sigma) - slackPx && offset < (1.7 * sigma) + slackPx;
    }

    /// <summary>Largest uncertainty of a half length recovered from an arc, as a share of the spot's sigma or of a twentieth of the
    /// half length.</summary>
    private const double RecoveredUncertainty = 0.2;

    /// <summary>Where the streak is in pieces, hidden in part, not understood or missing in more than this share of the frames, those of the others cannot be held for whole.</summary>
    private const double MostInDoubt = 0.5;

    /// <summary>Difference of the two estimates beyond what the spot explains, in sigma, from which the frame is not used.</summary>
    private const double GrossSigma = 3;

    // The light that is seen along the streak as a share of an exposure's, and the least that it may be.
    private readonly record struct LightShare(UncertainValue Seen, double Least);

    private static readonly LightShare _untold = new(new UncertainValue(double.NaN, double.NaN), double.NaN);

    /// <summary>How well the phase between rows is known, as a share of it; see docs/measurement.md.</summary>
    private const double RowPhaseShare = 0.1;

    /// <summary>Frames in a row that must lack light to be hidden where the shutter rolls along the streak.</summary>
    private const int LeastHiddenFrames = 3;

    // Light that is missing against what a shutter that rolls along the streak should see.
    private void FlagHidden(StreakReading[] readings, LightShare[] lightShares)
    {
        double[] doubts =
        [
            .. lightShares.Select((share, k) => Math.Sqrt(
                Math.Pow(_scene.LightSd[k] / _scene.Light[k], 2) + Math.Pow(share.Seen.StandardUncertainty / share.Seen.Value, 2))),
        ];
        bool[] hidden = HiddenLight.Of(
            [.. _scene.Light.Zip(lightShares, (light, share) => light / share.Seen.Value)], [.. _pass.Frames.Select(f => f.Gain)], doubts,
            [.. lightShares.Select(share => Math.Log(share.Seen.Value / share.Least))]);
        for (int from = 0, to; from < hidden.Length; from = to + 1)
        {
            for (to = from; to < hidden.Length && hidden[to];)
                to++;

            // A row phase that was not found makes single frames seem to lack light; what gets in the way stays for a tenth of a second.
            for (int k = from; k < to && to - from >= LeastHiddenFrames; k++)
                readings[k] = readings[k] with { Flags = readings[k].Flags | FrameFlags.PartHidden };
        }
    }

    // The reading, and the share of the light of an exposure that is seen along the streak; NaN where the fit does not tell it.
    private (StreakReading Reading, LightShare LightShare) Read(PassedFrame frame, bool repeated, StreakOptics.Workspace work)
    {
        FrameFlags flags = repeated ? FrameFlags.Repeated : FrameFlags.None;
        if (frame.Motion is { Followed: false })
            flags |= FrameFlags.RulerLost;
        var reading = new StreakReading { Frame = frame.Index, TimeSeconds = frame.TimeSeconds };
        if (_scene.Coarse[frame.Index] is not CoarseStreak coarse)
            return (reading with { Flags = flags | FrameFlags.NoStreak }, _untold);

        double sigma = _optics.SigmaPxOf(frame.Index);
        if (frame.ClippedSamples > 0)
            flags |= FrameFlags.Saturated;
        if (_scene.Whole[frame.Index] is null)
            flags |= FrameFlags.PartHidden;
        double edge = 3 * sigma;
        if (coarse.FirstEndPx < edge || coarse.SecondEndPx > _scene.Length - 1 - edge)
            flags |= FrameFlags.CutOff;
        if (Math.Min(coarse.FirstPeak, coarse.SecondPeak) < StreakScene.FaintPeak * _scene.Noise.DarkSd)
            flags |= FrameFlags.Faint;
        reading = reading with
        {
            ThresholdFirstEnd = ToDisplay(coarse.FirstEndPx),
            ThresholdSecondEnd = ToDisplay(coarse.SecondEndPx),
            Brightness = coarse.TotalLight * Math.Max(frame.Gain, 0),
            SpotSigmaPx = sigma,
            Flags = flags,
        };

        _scene.Read(frame.Index, work.Light);
        ProfileFit fit = Fit(frame.Index, coarse, work);
        if (!fit.Converged)
            return (reading with { Flags = flags | FrameFlags.ProfileFailed }, _untold);
        StreakShape p = fit.Shape;
        if (p.HalfLengthPx < Options.SmallestHalfLengthSigma * sigma)
            flags |= FrameFlags.BelowUsableRange;

        if (_optics.IsPartial)
        {
            // The half length of a swing that was seen in part is used when its arc tells it nearly as well as whole swings do.
            bool recovered = fit.HalfLengthUncertaintyPx < RecoveredUncertainty * Math.Max(sigma, 0.05 * p.HalfLengthPx);
            flags |= recovered ? FrameFlags.Recovered : FrameFlags.PartialExposure;
        }
        else if (!Agree(coarse, p, 3 * fit.HalfLengthUncertaintyPx))
        {
            flags |= FrameFlags.EstimatesDisagree;

            // By so much one of the two has taken something else for the streak.
            if (!Agree(coarse, p, (GrossSigma * sigma) + (3 * fit.HalfLengthUncertaintyPx)))
                flags |= FrameFlags.ProfileFailed;
        }

        reading = reading with
        {
            FirstEnd = ToDisplay(p.CentrePx - p.HalfLengthPx),
            SecondEnd = ToDisplay(p.CentrePx + p.HalfLengthPx),
            HalfLengthUncertaintyPx = fit.HalfLengthUncertaintyPx,
            Flags = flags,
        };
        if (!RowsMatter || (flags & FrameFlags.PartialExposure) != 0)
            return (reading, _untold);

        double rows = Math.Sqrt((RowPhaseShare * RowPhaseShare) + Math.Pow(fit.HalfLengthUncertaintyPx / p.HalfLengthPx, 2));

        // A phase may be that of another minimum, or of a row phase that was not found, so that the light proves no more than the least of all phases.
        UncertainValue seen = ArcWeights.LightShare(p, Math.Max(fit.StartUncertaintyRad, PhaseTrack.LeastUncheckedSdRad), rows);
        double least = Math.Min(seen.Value, ArcWeights.LeastLightShare(p));
        return (reading, new LightShare(seen, least));
    }
}
