namespace StreakTrack.Imaging.Streaks;

/// <summary>What all streaks of a clip have in common: the spot's width, the exposure in periods, and the ruler's reflectance.</summary>
internal sealed record StreakOptics
{
    private const int WidthFrames = 40;
    private const int ResponseFrames = 100;

    /// <summary>Frames that width and exposure are taken from, at least.</summary>
    private const int LeastFrames = 3;

    /// <summary>How often the width is begun with anew, and the change of it that needs no new beginning.</summary>
    private const int WidthRounds = 4;
    private const double SettledWidth = 0.1;

    /// <summary>Half length, in sigma, from which a streak shows two ends that do not touch.</summary>
    private const double LongStreak = 5;

    private readonly ArcCoverage _coverage;

    private StreakOptics(
        ArcCoverage coverage, double sigmaPx, double sigmaUncertaintyPx, double periods, double periodsSd, float[] response)
    {
        _coverage = coverage;
        SigmaPx = sigmaPx;
        SigmaUncertaintyPx = sigmaUncertaintyPx;
        Periods = periods;
        PeriodsSd = periodsSd;
        Response = response;
    }

    /// <summary>Standard deviation of the spot along the streak, in px: the clip's common one.</summary>
    public double SigmaPx { get; }

    /// <summary>The same in each frame where the focus changes within the clip; null where it does not.</summary>
    public double[]? SigmasPx { get; private init; }

    /// <summary>Standard deviation of the spot along the streak in a frame, in px.</summary>
    /// <param name="frame">The frame's position in the clip.</param>
    public double SigmaPxOf(int frame) => SigmasPx is null ? SigmaPx : SigmasPx[frame];

    /// <summary>Frames that width and exposure come from.</summary>
    private int[] TellingFrames { get; init; } = [];

    /// <summary>Standard uncertainty of <see cref="SigmaPx"/>; NaN when no streak was long enough to tell.</summary>
    public double SigmaUncertaintyPx { get; }

    /// <summary>Length of the exposure in periods of the oscillation; 1 where it cannot be told.</summary>
    public double Periods { get; }

    /// <summary>Periods that a frame lasts, which no exposure goes beyond; infinite where the frequency is not known.</summary>
    private double LongestPeriods { get; init; } = double.PositiveInfinity;

    /// <summary>Scatter of <see cref="Periods"/> from frame to frame; 0 where it is held.</summary>
    public double PeriodsSd { get; }

    /// <summary>How much later a place's exposure begins for each px along the strip, as in <see cref="StreakShape.RowPhaseRadPerPx"/>; 0 where
    /// rows lie along the streak.</summary>
    public double RowPhaseRadPerPx { get; private init; }

    /// <summary>Scatter of <see cref="RowPhaseRadPerPx"/> allowed while it is looked for; 0 where it is held.</summary>
    private double RowPhaseSdRadPerPx { get; init; }

    /// <summary>Whether the exposures see only arcs of the swing.</summary>
    public bool IsPartial => _coverage.IsPartial;

    /// <summary>Middle of the swing, in px along the strip; where exposures see only arcs, what is known of it.</summary>
    public double CentrePx { get; private init; } = double.NaN;

    /// <summary>Standard uncertainty of <see cref="CentrePx"/>, in px.</summary>
    public double CentreSdPx { get; private init; }

    /// <summary>Light of a whole period, typical of the clip; NaN where it cannot be told.</summary>
    public double Light { get; private init; } = double.NaN;

    /// <summary>Relative response of each place of the strip to the laser: ticks and texture of the ruler.</summary>
    public float[] Response { get; }

    /// <summary>Median of the reduced chi-squares of the frames that the estimates come from; their geometric mean where the shutter rolls along the
    /// streak, because a wrong row phase shows in the frames of some phases only.</summary>
    private double Misfit { get; init; } = double.PositiveInfinity;

    /// <summary>Phases of the frames; null where both ends are seen, or no even advance.</summary>
    public PhaseTrack? Track { get; private init; }

    /// <summary>Estimates it.</summary>
    /// <param name="scene">The profiles.</param>
    /// <param name="timesSeconds">Times of the frames.</param>
    /// <param name="acrossSigmaPx">The streak's standard deviation across the strip: the spot's, if it is round.</param>
    /// <param name="acrossSigmasPx">The same in each frame; NaN where it is not known.</param>
    /// <param name="longestPeriods">Periods that a frame lasts, which no exposure goes beyond; infinite where that is not known.</param>
    /// <param name="rowsAcross">Whether the camera's rows lie across the strip, so that a rolling shutter exposes places of the streak at
    /// different times.</param>
    /// <param name="separate">Whether the frames are photographs taken one by one; even one of them then tells the width.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public static StreakOptics Of(
        StreakScene scene, IReadOnlyList<double> timesSeconds, double acrossSigmaPx, IReadOnlyList<double> acrossSigmasPx,
        double longestPeriods, bool rowsAcross, bool separate, CancellationToken cancellationToken)
    {
        StreakOptics optics = Of(scene, timesSeconds, acrossSigmaPx, longestPeriods, rowsAcross, separate, wholeSwings: separate, cancellationToken);

        // The middle of arcs swings by as much as their length says; where it hardly swings, the ends jump for another reason, and where it swings by much more,
        // it is a swing and a part of the next that are seen. A middle whose swing cannot be told (NaN) speaks for no arcs either: ends that only noise moves.
        bool swingsOtherwise = optics is { IsPartial: true, Track: { } track } && !rowsAcross
            && !(track.SwingShare / DueSwing(optics.Periods) is > LeastSwing and < LargestSwing);
        if (swingsOtherwise)
            optics = Of(scene, timesSeconds, acrossSigmaPx, longestPeriods, rowsAcross, separate, wholeSwings: true, cancellationToken);
        return separate ? optics : optics with { SigmasPx = SpotFocus.Widths(timesSeconds, acrossSigmasPx, optics.TellingFrames, optics.SigmaPx) };
    }

    private static StreakOptics Of(
        StreakScene scene, IReadOnlyList<double> timesSeconds, double acrossSigmaPx, double longestPeriods, bool rowsAcross, bool separate,
        bool wholeSwings, CancellationToken cancellationToken)
    {
        double sigma = acrossSigmaPx;
        (StreakOptics[] begun, int[] some) = Begun(scene, sigma, longestPeriods, rowsAcross, separate, wholeSwings);
        for (int round = 0; round < WidthRounds && Math.Abs((begun[0].SigmaPx / sigma) - 1) > SettledWidth; round++)
        {
            // The spot is not as wide along as across: ends and exposure were judged with the wrong width.
            cancellationToken.ThrowIfCancellationRequested();
            sigma = begun[0].SigmaPx;
            (begun, some) = Begun(scene, sigma, longestPeriods, rowsAcross, separate, wholeSwings);
        }

        if (some.Length < FramesNeeded(separate))
            return begun[0];

        // Where the shutter rolls along the streak, phases that advance evenly tell of several beginnings the right one.
        cancellationToken.ThrowIfCancellationRequested();
        StreakOptics optics = begun.Select(o => o.Tracked(scene, timesSeconds, some, separate)).MinBy(o => o.Misfit)!;
        int[] many = optics.Longest(scene, LongStreak * sigma, ResponseFrames);
        cancellationToken.ThrowIfCancellationRequested();
        float[] response = optics.ResponseFrom(scene, many);
        cancellationToken.ThrowIfCancellationRequested();
        optics = optics.With(optics.SigmaPx, optics.SigmaUncertaintyPx, optics.Periods, optics.PeriodsSd, response);
        return (rowsAcross ? optics.Again(scene, some) : optics).Refined(scene, some).Tracked(scene, timesSeconds, some, separate)
            with { TellingFrames = some };
    }

    // With a width to begin with: the exposure by search, then width and exposure refined, the best first; and the frames that tell them.
    private static (StreakOptics[] Optics, int[] Frames) Begun(
        StreakScene scene, double sigma, double longestPeriods, bool rowsAcross, bool separate, bool wholeSwings)
    {
        float[] even = new float[scene.Length];
        Array.Fill(even, 1f);
        StreakOptics rough = Rough(wholeSwings);
        int[] frames = rough.Longest(scene, LongStreak * sigma, WidthFrames);
        if (frames.Length < FramesNeeded(separate))
            return ([rough], frames);

        (double Periods, double RowPhase)[] begins = rough.ExposureBySearch(scene, frames, rowsAcross);
        if (rough.IsPartial && begins[0].Periods > NearlyWhole)
        {
            // Ends that jump although the brightness tells of a whole period jump for another reason: noise, or something in the way.
            rough = Rough(whole: true);
            begins = rough.ExposureBySearch(scene, frames, rowsAcross);
        }

        // A turn more hardly changes the brightness, so that the search cannot tell it well; fits with all parameters free can.
        if (!rowsAcross)
            return ([begins.Select(b => rough.With(sigma, double.NaN, b.Periods, 0, even).Refined(scene, frames)).MinBy(o => o.Misfit)!], frames);

        // With exposure and row phase free in each frame many values explain each of them; held, the right ones explain all. There are many minima,
        // so that the best beginnings are followed down.
        int[] part = PartOf(frames);
        double rowStep = RowPhaseStep / rough.LongestHalfPx(frames);
        StreakOptics[] best =
        [
            .. begins.Select(b => (rough.With(sigma, double.NaN, b.Periods, 0, even) with { RowPhaseRadPerPx = b.RowPhase, RowPhaseSdRadPerPx = rowStep })
                    .Refined(scene, part) with { RowPhaseRadPerPx = b.RowPhase })
                .OrderBy(o => o.HeldMisfit(scene, part)).Take(FollowedBeginnings)
                .Select(o => o.Downhill(scene, part, rowStep)).OrderBy(o => o.Misfit),
        ];
        return (best, frames);

        StreakOptics Rough(bool whole)
        {
            ArcCoverage coverage = ArcCoverage.Of(scene.Whole, sigma, whole, separate);
            return new StreakOptics(coverage, sigma, double.NaN, 1, 0, even)
            {
                CentrePx = coverage.CentrePx, CentreSdPx = RoughCentreSd * sigma, LongestPeriods = longestPeriods,
            };
        }
    }

    private static int FramesNeeded(bool separate) => separate ? 1 : LeastFrames;

    // Where exposures see only arcs, the phase of one frame follows from the others', and with it the arcs tell more.
    private StreakOptics Tracked(StreakScene scene, IReadOnlyList<double> timesSeconds, int[] frames, bool separate)
    {
        if (!IsPartial && (separate || RowPhaseRadPerPx != 0 || !MissesAnEnd))
            return this;
        double[] middles = new double[scene.Whole.Length];
        Parallel.For(0, middles.Length, () => new float[scene.Length], (k, _, light) =>
        {
            middles[k] = double.NaN;
            if (scene.Whole[k] is CoarseStreak streak)
            {
                scene.Read(k, light);
                middles[k] = MiddleOfLight(light, streak);
            }

            return light;
        }, _ => { });
        if (RowPhaseRadPerPx == 0)
            return With(PhaseTrack.Of(timesSeconds, middles, _coverage.HalfLengthPx, SigmaPx, Periods), scene, frames);

        // A rolling shutter tells a phase from its mirror image, so that it matters which way the phases advance. The row phase is held meanwhile:
        // without a rolling shutter either way would do.
        StreakOptics best = new[] { true, false }
            .Select(forwards => (this with { RowPhaseSdRadPerPx = 0 }).With(PhaseTrack.Of(
                timesSeconds, middles, _coverage.HalfLengthPx, SigmaPx, Periods, new RollingMiddle(RowPhaseRadPerPx, Periods, forwards)), scene, frames))
            .MinBy(o => o.Misfit)!;
        return (best with { RowPhaseSdRadPerPx = RowPhaseSdRadPerPx }).Refined(scene, frames);
    }

    private StreakOptics With(PhaseTrack? track, StreakScene scene, int[] frames)
    {
        if (track is null)
            return this;
        StreakOptics tracked = this with { Track = track };
        return tracked.WithMiddle().Refined(scene, frames).WithMiddle();
    }

    // An arc alone tells its middle only where both its ends lie at turning points; what all arcs swing about tells it better.
    private StreakOptics WithMiddle() => RowPhaseRadPerPx != 0 || Track is null || !IsPartial
        ? this
        : this with { CentrePx = Track.MiddlePx, CentreSdPx = Math.Clamp(Track.MiddleUncertaintyPx, BestCentreSd * SigmaPx, RoughCentreSd * SigmaPx) };

    // Middle of a streak's light, ticks taken off; NaN where a part of it is clipped away.
    private double MiddleOfLight(float[] light, in CoarseStreak streak)
    {
        int from = Math.Max(0, (int)(streak.FirstEndPx - (3 * SigmaPx)));
        int to = Math.Min(light.Length - 1, (int)Math.Ceiling(streak.SecondEndPx + (3 * SigmaPx)));
        double sum = 0, moment = 0;
        for (int i = from; i <= to; i++)
        {
            double value = light[i] / Response[i];
            sum += value;
            moment += value * i;
        }

        return moment / sum;
    }

    private StreakOptics With(double sigma, double sigmaUncertainty, double periods, double periodsSd, float[] response) =>
        new(_coverage, sigma, sigmaUncertainty, periods, periodsSd, response) 
        {
            CentrePx = CentrePx, CentreSdPx = CentreSdPx, Light = Light, Track = Track, LongestPeriods = LongestPeriods,
            RowPhaseRadPerPx = RowPhaseRadPerPx, RowPhaseSdRadPerPx = RowPhaseSdRadPerPx,
        };

    /// <summary>What is known of a frame's profile before it is fitted.</summary>
    /// <param name="frame">The frame's position in the clip.</param>
    /// <param name="sigmaSdPx">How far the spot's width may depart from the clip's, as a standard deviation; 0 holds it.</param>
    /// <param name="periodsSd">The same for the exposure in periods.</param>
    /// <param name="rowPhaseSdRadPerPx">The same for the row phase.</param>
    public ProfileConstraints Known(int frame, double sigmaSdPx, double periodsSd, double rowPhaseSdRadPerPx = 0)
    {
        // Where one end is out of sight, the middle and the light are what the rest of the clip says they are.
        if (!IsPartial)
        {
            return ProfileConstraints.Free(sigmaSdPx, periodsSd) with
            {
                RowPhaseSdRadPerPx = rowPhaseSdRadPerPx,
                MidPhaseSdRad = IsTracked(frame) ? Track!.PhaseSdRad[frame] : ProfileConstraints.UnknownPhaseSdRad,
                CentrePx = _coverage.SteadyCentresPx[frame],
                CentreSdPx = MissesAnEnd && IsTracked(frame) ? SteadyCentreSd * SigmaPx : double.PositiveInfinity,
            };
        }

        return new ProfileConstraints(CentrePx, CentreSdPx, sigmaSdPx, periodsSd,
            Light, double.IsFinite(Light) ? LightSd * Light : double.PositiveInfinity)
        {
            RowPhaseSdRadPerPx = rowPhaseSdRadPerPx,
            MidPhaseSdRad = IsTracked(frame) ? Track!.PhaseSdRad[frame] : ProfileConstraints.UnknownPhaseSdRad,
        };
    }

    /// <summary>Standard deviation of a phase, in rad, up to which it is of use.</summary>
    private const double KnownPhase = 0.7;

    /// <summary>Difference of the cosines of two phases below which arcs look alike.</summary>
    private const double AlikeCosines = 0.3;

    /// <summary>Whether a frame should look like the one before by its phase: alike arcs then are no repeated picture.</summary>
    public bool LooksAlike(int frame) =>
        frame > 0 && IsTracked(frame) && IsTracked(frame - 1)
        && Math.Abs(Math.Cos(Track!.MidPhaseRad[frame]) - Math.Cos(Track.MidPhaseRad[frame - 1])) < AlikeCosines
        && (RowPhaseRadPerPx == 0 || Math.Abs(Math.Sin(Track.MidPhaseRad[frame]) - Math.Sin(Track.MidPhaseRad[frame - 1])) < AlikeCosines);

    // Somewhat less than a period, so that now and then a frame misses an end by a little.
    private bool MissesAnEnd => Periods + (2 * PeriodsSd) < 1;

    private bool IsTracked(int frame) => Track is not null && Track.PhaseSdRad[frame] < KnownPhase;

    /// <summary>Exposure in periods from which both ends are seen in nearly every frame.</summary>
    private const double NearlyWhole = 0.95;

    /// <summary>Exposure in periods below which some frames would miss an end by more than is overlooked: half a period from end to end looks
    /// like a whole one.</summary>
    private const double LeastWhole = 0.85;

    /// <summary>Steps of the row phase over the half length of the longest streak, in rad, and how many of them are tried: up to 3 rad, as of a
    /// spot of 40 Hz whose swing covers 800 rows of 30 us (common practice, no source).</summary>
    private const double RowPhaseStep = 0.25;
    private const int RowPhaseSteps = 13;

    /// <summary>Beginnings of exposure and row phase that are followed down to their minima.</summary>
    private const int FollowedBeginnings = 2;

    /// <summary>Step of the exposure in periods on the way down, and the share of the steps at which it ends.</summary>
    private const double LengthStep = 0.05, LeastStepShare = 0.1;

    /// <summary>A reduced chi-square that counts for all that are larger.</summary>
    private const double LargestMisfit = 1e3;

    /// <summary>The first of these steps: next to none, from which a fit can still go on to some.</summary>
    private const double AlmostNone = 0.01;

    private double LongestHalfPx(int[] frames) => frames.Max(k => _coverage.HalfLengthPx[k]);

    /// <summary>How well the middle of the swing is known at first when exposures see only arcs, in sigma; and how well at best and at worst
    /// once frames that see both ends have told it.</summary>
    private const double RoughCentreSd = 0.3, BestCentreSd = 0.03;

    /// <summary>How well neighbours tell the middle of a swing of which only now and then an end is missed, in sigma: what texture and a change of
    /// the amplitude within the exposure move it by.</summary>
    private const double SteadyCentreSd = 0.1;

    /// <summary>Share of the swing of arcs' middles that is due, below which they are none.</summary>
    private const double LeastSwing = 0.5;

    /// <summary>The same, above which the exposure is longer than was thought.</summary>
    private const double LargestSwing = 1.8;

    // How far the middle of the light of an exposure swings, against the amplitude.
    private static double DueSwing(double periods) => Math.Abs(Math.Sin(Math.PI * periods)) / (Math.PI * periods);

    /// <summary>A spot narrower than this share of what was expected, or wider than its inverse, was not understood.</summary>
    private const double SmallestSigmaRatio = 0.6;

    /// <summary>How steady a laser's light is taken to be, as a share.</summary>
    private const double LightSd = 0.05;

    /// <summary>A first guess for the profile fit of a frame.</summary>
    /// <param name="coarse">The streak by threshold.</param>
    /// <param name="frame">The frame's position in the clip.</param>
    /// <param name="light">The frame's profile.</param>
    /// <param name="noise">Its noise.</param>
    /// <param name="scan">Scratch.</param>
    public StreakShape Guess(in CoarseStreak coarse, int frame, ReadOnlySpan<float> light, in ProfileNoise noise, PhaseScan scan)
    {
        StreakShape shape = Ends(coarse, frame) with { SigmaPx = SigmaPxOf(frame), Periods = Periods };
        if (IsTracked(frame))
        {
            return shape with
            {
                StartRad = Track!.MidPhaseRad[frame] - (Math.PI * Periods), Light = double.IsFinite(Light) ? Light : shape.Light,
            };
        }

        scan.Prepare(light, Response, noise, shape);
        (double start, double wholePeriod, _) = scan.Best(Periods, RowPhaseRadPerPx);
        return shape with { StartRad = start, Light = double.IsFinite(wholePeriod) ? wholePeriod : shape.Light };
    }

    // The ends by threshold, as far as they go with the neighbouring frames.
    private StreakShape Ends(in CoarseStreak coarse, int frame)
    {
        double centre = IsPartial ? CentrePx : _coverage.CentresPx[frame];
        return new StreakShape(_coverage.HalfLengthPx[frame], centre, coarse.TotalLight / Periods, 0, 0, SigmaPx, Periods)
        {
            RowPhaseRadPerPx = RowPhaseRadPerPx,
        };
    }

    // Frames with long streaks, as different in length as there are: what speckle and texture do to an end at one place is the same in all
    // frames that end there.
    private int[] Longest(StreakScene scene, double leastHalfPx, int count)
    {
        double edge = 4;
        int[] fit =
        [
            .. Enumerable.Range(0, scene.Whole.Length).Where(k =>
                scene.Whole[k] is CoarseStreak c && Ends(c, k).HalfLengthPx > leastHalfPx
                && c.FirstEndPx > edge && c.SecondEndPx < scene.Length - 1 - edge)
            .OrderBy(k => _coverage.HalfLengthPx[k]),
        ];
        if (fit.Length <= count)
            return fit;
        double shortest = _coverage.HalfLengthPx[fit[0]], longest = _coverage.HalfLengthPx[fit[^1]];
        var chosen = new List<int>(count);
        for (int at = 0; at < fit.Length && chosen.Count < count; at++)
        {
            // The next one that is long enough for its turn, but never so late that too few are left.
            double due = shortest + ((longest - shortest) * chosen.Count / (count - 1));
            if (_coverage.HalfLengthPx[fit[at]] >= due || fit.Length - at <= count - chosen.Count)
                chosen.Add(fit[at]);
        }

        return [.. chosen];
    }

    // The exposure in periods, and the row phase, that let the brightness along the streaks be explained best, whatever the phases; the best of
    // each number of whole turns, or of each row phase, the best of all first.
    private (double Periods, double RowPhase)[] ExposureBySearch(StreakScene scene, int[] frames, bool rowsAcross)
    {
        double[] lengths = IsPartial
            ? [.. Enumerable.Range(0, 48).Select(k => 0.05 + (0.025 * k))]
            : [.. Enumerable.Range(0, 39).Select(k => LeastWhole + (0.05 * k))];
        lengths = [.. lengths.Where((length, k) => k == 0 || length <= LongestPeriods)];
        double perPx = RowPhaseStep / LongestHalfPx(frames);
        double[] rowPhases = rowsAcross ? [.. Enumerable.Range(0, RowPhaseSteps).Select(k => (k + AlmostNone) * perPx)] : [0];
        (double Periods, double RowPhase)[] candidates = [.. from row in rowPhases from length in lengths select (length, row)];
        int[] some = [.. frames.Where((_, k) => k % 2 == 0)];
        double[][] chi = new double[some.Length][];
        Parallel.For(0, some.Length, () => (Scan: new PhaseScan(), Light: new float[scene.Length]), (k, _, local) =>
        {
            CoarseStreak coarse = scene.Coarse[some[k]]!.Value;
            scene.Read(some[k], local.Light);
            local.Scan.Prepare(local.Light, Response, scene.Noise, Ends(coarse, some[k]));
            chi[k] = [.. candidates.Select(c => local.Scan.Best(c.Periods, c.RowPhase).ChiSquare)];
            return local;
        }, _ => { });

        // Added in the order of the frames, whichever thread was first: sums then are the same bit for bit.
        double[] score = new double[candidates.Length];
        foreach (double[] ofFrame in chi)
        {
            double least = ofFrame.Min();
            for (int c = 0; c < score.Length; c++)
                score[c] += Math.Min(ofFrame[c] / least, 10);
        }

        return
        [
            .. Enumerable.Range(0, candidates.Length)
                .GroupBy(c => rowsAcross ? candidates[c].RowPhase : IsPartial ? 0 : Math.Floor(candidates[c].Periods - 0.5))
                .Select(turn => turn.MinBy(c => score[c])).OrderBy(c => score[c]).Select(c => candidates[c]),
        ];
    }

    // Once the ruler's ticks are known, exposure and row phase are looked for once more: they hide much of what tells them.
    private StreakOptics Again(StreakScene scene, int[] frames)
    {
        int[] part = PartOf(frames);
        double rowStep = RowPhaseStep / LongestHalfPx(frames);
        StreakOptics free = this with { Track = null };
        return Enumerable.Range(0, RowPhaseSteps)
            .Select(k => (free with { RowPhaseRadPerPx = (k + AlmostNone) * rowStep, RowPhaseSdRadPerPx = LeastStepShare * rowStep }).Refined(scene, part))
            .Append(free)
            .OrderBy(o => o.HeldMisfit(scene, part)).Take(FollowedBeginnings)
            .Select(o => o.Downhill(scene, part, rowStep)).MinBy(o => o.Misfit)!;
    }

    private static int[] PartOf(int[] frames) => [.. frames.Where((_, k) => k % 3 == 0)];

    // By shrinking steps of row phase and exposure to where both, held, explain the frames best.
    private StreakOptics Downhill(StreakScene scene, int[] frames, double rowStep)
    {
        (StreakOptics best, double least) = (this, HeldMisfit(scene, frames));
        for (double share = 0.5; share > LeastStepShare; share /= 2)
        {
            for (bool better = true; better;)
            {
                better = false;
                foreach ((int row, int length) in new[] { (1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1) })
                {
                    double periods = Math.Clamp(best.Periods + (length * share * LengthStep), 0.02, Math.Max(LongestPeriods, 0.02));
                    StreakOptics trial = best.With(best.SigmaPx, best.SigmaUncertaintyPx, periods, best.PeriodsSd, best.Response) with
                    {
                        RowPhaseRadPerPx = best.RowPhaseRadPerPx + (row * share * rowStep),
                    };
                    double misfit = trial.HeldMisfit(scene, frames);
                    if (misfit < least)
                        (best, least, better) = (trial, misfit, true);
                }
            }
        }

        return best with { Misfit = least, RowPhaseSdRadPerPx = LeastStepShare * rowStep };
    }

    // Geometric mean of the reduced chi-squares with exposure and row phase held.
    private double HeldMisfit(StreakScene scene, int[] frames)
    {
        double[] misfits = new double[frames.Length];
        Parallel.For(0, frames.Length, () => new Workspace(scene.Length), (k, _, work) =>
        {
            scene.Read(frames[k], work.Light);
            StreakShape start = Guess(scene.Coarse[frames[k]]!.Value, frames[k], work.Light, scene.Noise, work.Scan);
            misfits[k] = Math.Log(Limited(work.Fitter.Fit(work.Light, Response, scene.Noise, start, Known(frames[k], 0, 0))));
            return work;
        }, _ => { });
        return Math.Exp(misfits.Average());
    }

    // A fit that has failed, or explains nothing, counts as one that explains little.
    private static double Limited(in ProfileFit fit) => fit.Converged && fit.ReducedChiSquare < LargestMisfit ? fit.ReducedChiSquare : LargestMisfit;

    private StreakOptics Refined(StreakScene scene, int[] frames)
    {
        var sigmas = new double[frames.Length];
        var weights = new double[frames.Length];
        var periods = new double[frames.Length];
        var rowPhases = new double[frames.Length];
        var centres = new double[frames.Length];
        var lights = new double[frames.Length];
        var bothEnds = new double[frames.Length];
        var misfits = new double[frames.Length];
        Parallel.For(0, frames.Length, () => new Workspace(scene.Length), (k, _, work) =>
        {
            scene.Read(frames[k], work.Light);
            StreakShape start = Guess(scene.Coarse[frames[k]]!.Value, frames[k], work.Light, scene.Noise, work.Scan);
            ProfileFit fit = work.Fitter.Fit(work.Light, Response, scene.Noise, start, Known(frames[k], 0.3 * SigmaPx, 0.05, RowPhaseSdRadPerPx));
            bool good = fit.Converged && double.IsFinite(fit.SigmaUncertaintyPx)
                && fit.Shape.SigmaPx > SmallestSigmaRatio * SigmaPx && fit.Shape.SigmaPx < SigmaPx / SmallestSigmaRatio;
            sigmas[k] = fit.Shape.SigmaPx;
            periods[k] = fit.Shape.Periods;
            rowPhases[k] = fit.Shape.RowPhaseRadPerPx;
            misfits[k] = fit.Converged ? fit.ReducedChiSquare : double.PositiveInfinity;
            centres[k] = fit.Shape.CentrePx;
            lights[k] = fit.Shape.Light;
            bothEnds[k] = fit.Converged ? 1 / Math.Pow(Math.Max(fit.HalfLengthUncertaintyPx, 0.01 * SigmaPx), 2) : 0;
            weights[k] = good ? 1 / Math.Pow(Math.Max(fit.SigmaUncertaintyPx, 0.01 * SigmaPx), 2) : 0;
            return work;
        }, _ => { });
        if (weights.Sum() == 0)
            return this with { Misfit = double.PositiveInfinity };
        (double sigma, double sigmaSd) = WeightedMedian(sigmas, weights);
        (double length, double lengthSd) = WeightedMedian(periods, weights);
        // Frames that see both ends know their half length best, and the middle with it.
        (double centre, double centreSd) = WeightedMedian(centres, bothEnds);
        return With(sigma, sigmaSd / Math.Sqrt(frames.Length), Math.Min(length, LongestPeriods), Math.Clamp(lengthSd, 0.002, 0.05), Response) with
        {
            CentrePx = centre,
            CentreSdPx = Math.Clamp(centreSd / Math.Sqrt(frames.Length), BestCentreSd * sigma, RoughCentreSd * sigma),
            Light = WeightedMedian(lights, weights).Median,
            RowPhaseRadPerPx = RowPhaseSdRadPerPx > 0 ? WeightedMedian(rowPhases, weights).Median : RowPhaseRadPerPx,
            Misfit = RowPhaseRadPerPx == 0 ? misfits.Order().ElementAt(misfits.Length / 2) : Math.Exp(misfits.Average(m => Math.Log(Math.Min(m, LargestMisfit)))),
        };
    }

    // How bright each place answers, from the places' ratio of light to model; only well inside the streaks, where the model is smooth
    // and does not depend on where the ends lie.
    private float[] ResponseFrom(StreakScene scene, int[] frames)
    {
        float[] even = new float[scene.Length];
        Array.Fill(even, 1f);
        var parts = new (int From, double[] Sums, double[] Weights)[frames.Length];
        Parallel.For(0, frames.Length, () => new Workspace(scene.Length), (k, _, work) =>
        {
            parts[k] = (0, [], []);
            scene.Read(frames[k], work.Light);
            StreakShape start = Guess(scene.Coarse[frames[k]]!.Value, frames[k], work.Light, scene.Noise, work.Scan);
            ProfileFit fit = work.Fitter.Fit(work.Light, Response, scene.Noise, start, Known(frames[k], 0, PeriodsSd));
            if (!fit.Converged)
                return work;
            StreakShape shape = fit.Shape;
            double inner = shape.HalfLengthPx - (2.5 * SigmaPx);
            int from = Math.Max(0, (int)Math.Ceiling(shape.CentrePx - inner));
            int to = Math.Min(scene.Length - 1, (int)Math.Floor(shape.CentrePx + inner));
            if (to <= from)
                return work;
            work.Fitter.Model.Evaluate(shape with { Background = 0 }, even, from, to - from + 1);
            double[] sums = new double[to - from + 1], weights = new double[sums.Length];
            for (int i = from; i <= to; i++)
            {
                double model = work.Fitter.Model.Values[i - from], value = work.Light[i] - shape.Background;
                if (double.IsNaN(value) || model <= 0)
                    continue;
                double w = model * model / scene.Noise.Variance(model);
                sums[i - from] = w * value / model;
                weights[i - from] = w;
            }

            parts[k] = (from, sums, weights);
            return work;
        }, _ => { });

        // Added in the order of the frames, whichever thread was first: sums then are the same bit for bit.
        double[] sum = new double[scene.Length], weight = new double[scene.Length];
        foreach ((int from, double[] sums, double[] weights) in parts)
        {
            for (int i = 0; i < sums.Length; i++)
            {
                sum[from + i] += sums[i];
                weight[from + i] += weights[i];
            }
        }

        // One good frame's worth of belief in an even ruler keeps places with little light near 1.
        double prior = 0.5 / (scene.Noise.RelativeSd * scene.Noise.RelativeSd);
        float[] response = new float[scene.Length];
        for (int i = 0; i < response.Length; i++)
            response[i] = (float)((sum[i] + prior) / (weight[i] + prior));
        return response;
    }

    // Weighted median and a robust standard deviation.
    private static (double Median, double Sd) WeightedMedian(double[] values, double[] weights)
    {
        double median = Half(values);
        return (median, 1.4826 * Half([.. values.Select(v => Math.Abs(v - median))]));

        double Half(double[] of)
        {
            double all = weights.Sum(), sum = 0;
            foreach (int k in Enumerable.Range(0, of.Length).OrderBy(k => of[k]))
            {
                sum += weights[k];
                if (sum >= all / 2)
                    return of[k];
            }

            return double.NaN;
        }
    }

    /// <summary>What one thread needs.</summary>
    internal sealed class Workspace(int length)
    {
        public float[] Light { get; } = new float[length];

        public ProfileFitter Fitter { get; } = new();

        public PhaseScan Scan { get; } = new();
    }
}
