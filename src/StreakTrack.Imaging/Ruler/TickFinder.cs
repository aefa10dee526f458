using System.Numerics;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Scale;
using static System.FormattableString;

namespace StreakTrack.Imaging.Ruler;

/// <summary>Finds the ruler's ticks between marks by their period, so that two marks give a scale of dozens of ticks.</summary>
/// <remarks>
/// Strips along the marks' line are demodulated at the tick frequency that the marks predict. What perspective and the marks' own errors leave
/// is a phase that changes along the ruler in a known family (a projective map, a stretch and, where these do not do, a lens's bow, that keep the marks near their readings):
/// the member of the family under which all strips add up in phase is the map. Nothing is followed from tick to tick, so
/// a stretch of ruler lost in glare or shadow does not lose count. The phase's change from strip to strip gives the lean of the ticks and,
/// with its change along the ruler, the point in which perspective lets them meet. Then each tick is fitted for itself.
/// </remarks>
public static class TickFinder
{
    /// <summary>Largest perspective tried: q of X = (m + q)/(1 + q m) on the marked piece. 0.4 is a ruler half as long as its distance seen
    /// from 50 degrees aside.</summary>
    private const double LargestPerspective = 0.4;

    /// <summary>Largest distortion by the lens tried where no ticks are found without: relative shift of a point at half the picture's diagonal. Wide-angle
    /// lenses of phones show a few per cent (common practice, no source).</summary>
    private const double LargestDistortion = 0.08;

    /// <summary>A period of fewer pixels than this is not told from its neighbours by a camera's lens and colour mosaic.</summary>
    private const double ShortestPeriodPx = 3;

    /// <summary>Share of the light at the tick frequency that must add up in phase along the ruler, in the best strip.</summary>
    private const double LowestCoherence = 0.35;

    /// <summary>A second map that gathers more than this share of the best one's excess makes the count of ticks ambiguous.</summary>
    private const double HighestRival = 0.6;

    /// <summary>Share of the predicted ticks that must be there, one by one.</summary>
    private const double LowestShareFound = 0.6;

    private const int FewestTicks = 5;

    /// <summary>A click further from its tick than this many times its assumed scatter was set on something else, or the count is wrong.</summary>
    private const double LargestDeviation = 5;

    /// <summary>Depth over its uncertainty from which a tick is there.</summary>
    private const double LowestSignificance = 5;

    /// <summary>Half the piece of axis looked at for one tick, at most, in px.</summary>
    private const double LargestHalfWindowPx = 12;

    /// <summary>How fast the scale of a ruler changes across it at most, per mm: a camera 200 mm away that looks down 40 degrees aslant.</summary>
    private const double LargestGrowthPerMm = 0.003;

    /// <summary>Length of ruler that a digit, a stain or the codec disturbs as a whole, in mm.</summary>
    private const double DisturbedMm = 10;

    /// <summary>Scatter of the ticks about their scale, over their own uncertainty, beyond which they are no ticks of one ruler: digits and stains
    /// also come every centimetre, but not at equal places.</summary>
    private const double LargestScatter = 2.5;

    /// <summary>A line whose place is less certain than this is no sharp line; in px.</summary>
    private const double LargestTickUncertaintyPx = 0.2;

    /// <summary>Ticks are at most half a millimetre wide, and the picture is not blurred by more than this: digits are wider.</summary>
    private const double WidestTickSigmaMm = 0.25;
    private const double WidestBlurSigmaPx = 1.5;

    /// <summary>Looks for the ticks.</summary>
    /// <param name="picture">The ruler, as displayed; of a still clip best the usual picture of many frames.</param>
    /// <param name="marks">Two or more marks set on ticks.</param>
    /// <param name="scaleOptions">How scales are fitted; its tick directions, if any, are replaced by those found.</param>
    /// <param name="options">How to search.</param>
    /// <param name="cancellationToken">Stops the search.</param>
    /// <returns>The ticks and their scale, or the scale of the marks alone and a finding that says why.</returns>
    /// <exception cref="Core.UnusableInputException">The marks make no scale.</exception>
    /// <exception cref="ArgumentOutOfRangeException">An option is out of its range.</exception>
    public static TickSearch Find(RulerPicture picture, IReadOnlyList<RulerMark> marks, RulerScaleOptions scaleOptions,
        TickFinderOptions options, CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(picture);
        ArgumentNullException.ThrowIfNull(options);
        options.Validate();
        RulerScale clicked = RulerScaleFitter.Fit(marks, scaleOptions);
        Finding? why = null;
        foreach (double step in options.StepsMm.Order())
        {
            cancellationToken.ThrowIfCancellationRequested();
            foreach (bool bowed in new[] { false, true })
            {
                (TickSearch? found, Finding? finding) = TryStep(picture, marks, clicked, scaleOptions, options, step, bowed);
                if (found is not null)
                    return found;
                // The coarser ticks are the surer ones, so that what they say counts.
                why = finding ?? why;
            }
        }

        why ??= FindingKinds.TicksNotFound.With("No evenly spaced ticks that agree with the marks' readings were found along the marks.");
        return new TickSearch(false, clicked, marks, double.NaN, [], [why]);
    }

    /// <summary>The family of maps from the clicked scale's reading to the true one.</summary>
    private readonly record struct Warp(double CentreMm, double HalfMm, double Perspective, double StretchMm, double BowMm)
    {
        public double TrueReading(double m) => CentreMm + HalfMm * (m + Perspective) / (1 + Perspective * m) + StretchMm * m + BowMm * m * (m * m - 1);

        /// <summary>Clicked reading (as m) at which the true one has a value.</summary>
        public double Invert(double trueMm)
        {
            double m = (trueMm - CentreMm) / HalfMm, found = m;
            // Stretch and bow are small beside the half length, so a few substitutions suffice.
            for (int i = 0; i < 8; i++)
            {
                double target = m - (StretchMm + BowMm * (found * found - 1)) * found / HalfMm;
                found = (target - Perspective) / (1 - Perspective * target);
            }

            return found;
        }
    }

    private sealed record Strip(double N, Complex[] Blocks, double Power, double Size);

    private static (TickSearch? Found, Finding? Why) TryStep(RulerPicture picture, IReadOnlyList<RulerMark> marks, RulerScale clicked,
        RulerScaleOptions scaleOptions, TickFinderOptions options, double stepMm, bool bowed)
    {
        double centreMm = clicked.MiddleReadingMm, halfMm = (clicked.MaxReadingMm - clicked.MinReadingMm) / 2;
        double mmPerPx = clicked.MiddleMillimetresPerPixel, periodPx = stepMm / mmPerPx;
        int blocks = (int)Math.Floor(2 * halfMm / stepMm);
        if (periodPx < ShortestPeriodPx || blocks < FewestTicks)
            return (null, null);

        AxisFrame frame = new(clicked.AxisOrigin, clicked.AxisDirection);
        Strip[] strips = Demodulate(picture, clicked, frame, centreMm - blocks * stepMm / 2, blocks, stepMm, periodPx, options.SearchMm / mmPerPx);
        if (strips.Length == 0)
            return (null, null);
        double[] m = [.. Enumerable.Range(0, blocks).Select(b => (b + 0.5 - blocks / 2.0) * stepMm / halfMm)];

        double reachMm = Math.Min(0.45 * stepMm, 4 * scaleOptions.AssumedScatterPx * mmPerPx);
        double perspectiveReach = PerspectiveReach(clicked, centreMm, halfMm, mmPerPx);
        double bowReachMm = bowed ? BowReach(scaleOptions, halfMm, mmPerPx) : 0;
        if (bowed && bowReachMm < BowStep * stepMm)
            return (null, null);
        (Warp warp, double rival) = Search(strips, m, centreMm, halfMm, stepMm, reachMm, perspectiveReach, bowReachMm);
        Complex[] sums = [.. strips.Select(strip => Sum(strip, m, warp, stepMm))];
        double bestCoherence = strips.Select((strip, j) => sums[j].Magnitude / strip.Size).Max();
        if (!(bestCoherence >= LowestCoherence))
            return (null, null);
        if (rival > HighestRival)
        {
            return (null, FindingKinds.TicksNotFound.With(
                Invariant($"Ticks every {stepMm:0.###} mm are seen, but they can be counted in more than one way between the marks.")));
        }

        bool[] used = new bool[strips.Length];
        Finding? conflict = null;
        while (FitLean(strips, sums, used, m, warp, stepMm, periodPx) is { } lean)
        {
            if (ShiftWithin(lean.ShiftMm, stepMm, reachMm) is not var (shift, sign))
                continue;
            RowsOfTicks rows = new(picture, sign, lean.FromN, lean.ToN);
            Warp stretched = warp with { StretchMm = lean.StretchMm };
            AxisFrame leaning = LeanOfTicks(frame, clicked, stretched, lean);
            if (FitTicks(rows, clicked, leaning, stretched, shift, stepMm, options, scaleOptions) is not var (ticks, atTicks))
                continue;
            if (Result(marks, clicked, ticks, atTicks, stepMm, scaleOptions) is not { } result)
                continue;
            // With two or three marks, one that disagrees leaves nothing to say whether it or the count of ticks is wrong.
            if (result.Findings.Count <= marks.Count / 4)
                return (result, null);
            conflict ??= FindingKinds.TicksNotFound.With(
                Invariant($"Ticks every {stepMm:0.###} mm were found but not used, because they disagree with the marks: ")
                + string.Join(" ", result.Findings.Select(finding => finding.Message)));
        }

        return (null, conflict);
    }

    /// <summary>The scale of the ticks, and how the marks agree with it; null when the marks alone tell lengths better.</summary>
    private static TickSearch? Result(IReadOnlyList<RulerMark> marks, RulerScale clicked, List<RulerMark> ticks, CarriedAxis axis, double stepMm,
        RulerScaleOptions scaleOptions)
    {
        RulerScaleOptions withLean = scaleOptions with { Ticks = axis.Frame.ToTickDirections() };
        RulerScale scale = RulerScaleFitter.Fit(ticks, withLean);
        double scattered = RelativeUncertainty(scale, clicked);
        // What moves one tick (digits, texture, the codec's blocks) moves its neighbours as well: a centimetre's ticks count as one.
        double neighbours = Math.Sqrt(Math.Max(1, DisturbedMm / stepMm));
        double stated = Math.Sqrt(Math.Pow(scattered * neighbours, 2) + Math.Pow(axis.CarryingUncertainty, 2));
        if (!(stated < RelativeUncertainty(clicked, clicked)))
            return null;
        ticks = [.. ticks.Select(tick => tick with { StandardUncertaintyPx = tick.StandardUncertaintyPx * stated / scattered })];
        scale = RulerScaleFitter.Fit(ticks, withLean with { Model = scale.Model });
        double[] deviations = [.. marks.Select(mark => scale.PlaceOf(mark.Point) - scale.PlaceOf(scale.PointAt(mark.ReadingMm)))];
        List<Finding> findings = [];
        for (int i = 0; i < marks.Count; i++)
        {
            if (Math.Abs(deviations[i]) > LargestDeviation * scaleOptions.AssumedScatterPx)
            {
                findings.Add(FindingKinds.MarkDoubtful.With(Invariant($"Mark {i + 1} reads {marks[i].ReadingMm:0.###} mm, but by the ticks found its ")
                    + Invariant($"place reads {scale.ReadingMmAt(marks[i].Point):0.##} mm.")));
            }
        }

        return new TickSearch(true, scale, ticks, stepMm, deviations, findings);
    }

    /// <summary>Relative standard uncertainty of the length between the outermost marks.</summary>
    private static double RelativeUncertainty(RulerScale scale, RulerScale clicked)
    {
        UncertainValue length = scale.LengthMm(clicked.PointAt(clicked.MinReadingMm), clicked.PointAt(clicked.MaxReadingMm));
        return length.StandardUncertainty / length.Value;
    }

    /// <summary>The axis with the lean of the ticks.</summary>
    /// <param name="Frame">Axis and lean.</param>
    /// <param name="CarryingUncertainty">Relative standard uncertainty that lengths on the axis have from carrying them there along ticks that
    /// were seen beside it.</param>
    private readonly record struct CarriedAxis(AxisFrame Frame, double CarryingUncertainty);

    /// <summary>How much perspective the clicked scale may have missed.</summary>
    private static double PerspectiveReach(RulerScale clicked, double centreMm, double halfMm, double mmPerPx)
    {
        if (clicked.DegreesOfFreedom < 2)
            return LargestPerspective;
        // With marks to spare the middle of the scale is known: five times its uncertainty, and what the choice of too plain a map can hide.
        double u = clicked.ReadingUncertaintyMm(clicked.PointAt(centreMm)) + clicked.RmsPx * mmPerPx;
        return Math.Min(LargestPerspective, (5 * u + 4 * mmPerPx) / halfMm);
    }

    /// <summary>How far a lens bows the readings between two marks at the ends; 0 where the lens's axis is not known.</summary>
    private static double BowReach(RulerScaleOptions options, double halfMm, double mmPerPx)
    {
        if (options.PictureCentre is not { } centre)
            return 0;
        double halfDiagonalPx = Math.Sqrt(centre.UPx * centre.UPx + centre.VPx * centre.VPx);
        return LargestDistortion * halfMm * Math.Pow(halfMm / mmPerPx / halfDiagonalPx, 2);
    }

    /// <summary>Distance of the bows tried, in ticks: m (m^2 - 1) is 0.385 at most, so that none is more than an eighth of a tick off.</summary>
    private const double BowStep = 0.65;

    private static Strip[] Demodulate(RulerPicture picture, RulerScale clicked, AxisFrame frame, double startMm, int blocks, double stepMm,
        double periodPx, double searchPx)
    {
        int perPeriod = Math.Max(8, (int)Math.Ceiling(periodPx));
        int samples = blocks * perPeriod, margin = perPeriod;
        // Half a millimetre's worth of rows: thin enough that leaning ticks do not smear, and at least two rows against noise.
        double rowsPerStrip = Math.Clamp(Math.Round(periodPx / stepMm / 2), 2, 12);
        double[] place = [.. Enumerable.Range(-margin, samples + 2 * margin)
            .Select(i => clicked.PlaceOf(clicked.PointAt(startMm + (i + 0.5) * stepMm / perPeriod)))];
        Complex[] carrier = [.. Enumerable.Range(0, perPeriod)
            .Select(i => Complex.FromPolarCoordinates(1, -2 * Math.PI * ((startMm + (i + 0.5) * stepMm / perPeriod) / stepMm)))];

        List<Strip> strips = [];
        int half = (int)(searchPx / rowsPerStrip);
        for (int j = -half; j <= half; j++)
        {
            double n = j * rowsPerStrip;
            double[] profile = new double[place.Length];
            for (int i = 0; i < profile.Length; i++)
            {
                for (double r = 0.5 - rowsPerStrip / 2; r < rowsPerStrip / 2; r++)
                {
                    PicturePoint point = frame.PointAt(place[i], n + r);
                    profile[i] += picture.At(point.UPx, point.VPx);
                }
            }

            if (DemodulateStrip(n, profile, carrier, blocks, perPeriod, margin) is { } strip)
                strips.Add(strip);
        }

        return [.. strips];
    }

    private static Strip? DemodulateStrip(double n, double[] profile, Complex[] carrier, int blocks, int perPeriod, int margin)
    {
        // Relative to the mean over one period around: removes shading and the streak, and ticks have no part in it.
        double[] relative = new double[profile.Length];
        for (int i = 0; i < relative.Length; i++)
        {
            int from = Math.Max(0, i - perPeriod / 2), to = Math.Min(profile.Length, from + perPeriod);
            double mean = 0;
            for (int k = from; k < to; k++)
                mean += profile[k];
            mean /= to - from;
            relative[i] = mean > 0 ? profile[i] / mean - 1 : double.NaN;
        }

        double[] sizes = [.. relative.Where(double.IsFinite).Select(Math.Abs).Order()];
        if (sizes.Length < relative.Length / 2)
            return null;
        // Digits, the ends of the streak and dirt are larger than ticks: they count no more than a strong tick does.
        double cap = 2 * sizes[(int)(0.8 * sizes.Length)];
        var result = new Complex[blocks];
        double power = 0, size = 0;
        for (int b = 0; b < blocks; b++)
        {
            Complex sum = 0;
            for (int i = 0; i < perPeriod; i++)
            {
                double g = relative[margin + b * perPeriod + i];
                if (double.IsFinite(g))
                    sum += Math.Clamp(g, -cap, cap) * carrier[i];
            }

            result[b] = sum;
            power += sum.Real * sum.Real + sum.Imaginary * sum.Imaginary;
            size += sum.Magnitude;
        }

        return power > 0 ? new Strip(n, result, power, size) : null;
    }

    private static Complex Sum(Strip strip, double[] m, Warp warp, double stepMm)
    {
        Complex sum = 0;
        for (int b = 0; b < m.Length; b++)
            sum += strip.Blocks[b] * Complex.FromPolarCoordinates(1, -2 * Math.PI * Deviation(warp, m[b]) / stepMm);
        return sum;
    }

    private static double Deviation(Warp warp, double m) => warp.TrueReading(m) - warp.CentreMm - warp.HalfMm * m;

    /// <summary>Best member of the family over all strips, and how near the best clearly different one comes.</summary>
    private static (Warp Best, double Rival) Search(Strip[] strips, double[] m, double centreMm, double halfMm, double stepMm, double reachMm,
        double perspectiveReach, double bowReachMm)
    {
        // A quarter of a step between trials: none is more than an eighth off in the middle, which costs a tenth of the sum.
        double fine = 0.25 * stepMm / halfMm;
        int perspectives = (int)Math.Ceiling(perspectiveReach / fine), stretches = (int)Math.Ceiling(reachMm / (0.25 * stepMm));
        int bows = (int)Math.Ceiling(bowReachMm / (BowStep * stepMm));
        Warp[] trials =
        [
            .. from bow in Enumerable.Range(-bows, 2 * bows + 1)
               from i in Enumerable.Range(-perspectives, 2 * perspectives + 1)
               from k in Enumerable.Range(-stretches, 2 * stretches + 1)
               select new Warp(centreMm, halfMm, i * perspectiveReach / Math.Max(1, perspectives), k * reachMm / Math.Max(1, stretches),
                   bow * bowReachMm / Math.Max(1, bows)),
        ];
        Complex[] turn = new Complex[m.Length];
        (double Score, Warp Warp)[] scores = [.. trials.Select(warp => (TotalScore(strips, m, warp, stepMm, turn), warp))];
        (double top, Warp best) = scores.MaxBy(entry => entry.Score);
        double usual = scores.Select(entry => entry.Score).Order().ElementAt(scores.Length / 2);
        double rival = scores
            .Where(entry => LargestDifference(entry.Warp, best, m) > 0.6 * stepMm)
            .Select(entry => entry.Score).DefaultIfEmpty(usual).Max();

        double rivalShare = (rival - usual) / Math.Max(1e-12, top - usual);

        // Shrinking cross search from the grid's best, over the strips that show ticks.
        double[] share = [.. strips.Select(strip => Sum(strip, m, best, stepMm).Magnitude / strip.Size)];
        Strip[] clear = [.. strips.Where((_, j) => share[j] >= 0.5 * share.Max())];
        top = TotalScore(clear, m, best, stepMm, turn);
        double perspectiveStep = fine / 2, stretchStep = 0.125 * stepMm, bowStep = bows > 0 ? BowStep * stepMm / 2 : 0;
        for (int round = 0; round < 24; round++)
        {
            Warp[] around =
            [
                best with { Perspective = best.Perspective - perspectiveStep }, best with { Perspective = best.Perspective + perspectiveStep },
                best with { StretchMm = best.StretchMm - stretchStep }, best with { StretchMm = best.StretchMm + stretchStep },
                best with { BowMm = best.BowMm - bowStep }, best with { BowMm = best.BowMm + bowStep },
            ];
            (double Score, Warp Warp) better = around.Select(warp => (TotalScore(clear, m, warp, stepMm, turn), warp)).MaxBy(entry => entry.Item1);
            if (better.Score > top)
                (top, best) = better;
            else
                (perspectiveStep, stretchStep, bowStep) = (perspectiveStep / 2, stretchStep / 2, bowStep / 2);
        }

        return (best, rivalShare);
    }

    /// <summary>Power of all strips under a warp, each over its incoherent power. <paramref name="turn"/> is a buffer.</summary>
    private static double TotalScore(Strip[] strips, double[] m, Warp warp, double stepMm, Complex[] turn)
    {
        for (int b = 0; b < m.Length; b++)
            turn[b] = Complex.FromPolarCoordinates(1, -2 * Math.PI * Deviation(warp, m[b]) / stepMm);
        double score = 0;
        foreach (Strip strip in strips)
        {
            double re = 0, im = 0;
            for (int b = 0; b < turn.Length; b++)
            {
                Complex z = strip.Blocks[b], t = turn[b];
                re += z.Real * t.Real - z.Imaginary * t.Imaginary;
                im += z.Real * t.Imaginary + z.Imaginary * t.Real;
            }

            score += (re * re + im * im) / strip.Power;
        }

        return score;
    }

    private static double LargestDifference(Warp a, Warp b, double[] m)
    {
        double largest = 0;
        for (int i = 0; i < m.Length; i += Math.Max(1, m.Length / 16))
            largest = Math.Max(largest, Math.Abs(a.TrueReading(m[i]) - b.TrueReading(m[i])));
        return largest;
    }

    /// <summary>The shift of dark or of bright lines against the marks, whichever the marks can have been set on; null when neither is near
    /// enough: digits repeat at every centimetre too, but not where the marks are.</summary>
    private static (double ShiftMm, int Sign)? ShiftWithin(double darkMm, double stepMm, double reachMm)
    {
        // A dark tick at a whole reading makes a negative sum; for bright ones the phase is half a period further.
        double brightMm = Wrap(darkMm + stepMm / 2, stepMm);
        bool bright = Math.Abs(brightMm) < 0.5 * Math.Abs(darkMm);
        double shift = bright ? brightMm : darkMm;
        return Math.Abs(shift) <= reachMm ? (shift, bright ? -1 : 1) : null;
    }

    /// <summary>The strip of the picture in which ticks are fitted.</summary>
    private sealed record RowsOfTicks(RulerPicture Picture, int Sign, double FromN, double ToN)
    {
        public double MiddleN => (FromN + ToN) / 2;
    }

    /// <summary>Shift and stretch of the ticks against the warp on the axis, their change with the distance from it, and the strips that show ticks.</summary>
    private sealed record LeanFit(double ShiftMm, double StretchMm, double ShiftPerPx, double StretchPerPx, double FromN, double ToN);

    private static LeanFit? FitLean(Strip[] strips, Complex[] sums, bool[] used, double[] m, Warp warp, double stepMm, double periodPx)
    {
        double[] gain = [.. strips.Select((strip, j) => sums[j].Magnitude / strip.Size)];
        int[] free = [.. Enumerable.Range(0, strips.Length).Where(j => !used[j] && gain[j] >= LowestCoherence)];
        if (free.Length == 0)
            return null;
        int best = free.MaxBy(j => sums[j].Magnitude * gain[j]);
        // The run of strips around the best one whose ticks add up: half of the best coherence, so that strips half beside the ticks stay out.
        int first = best, last = best;
        bool Good(int j) => !used[j] && gain[j] >= 0.5 * gain[best] && sums[j].Magnitude >= 0.2 * sums[best].Magnitude;
        while (first > 0 && Good(first - 1))
            first--;
        while (last < strips.Length - 1 && Good(last + 1))
            last++;

        int count = last - first + 1;
        used.AsSpan(first, count).Fill(true);
        double[] n = new double[count], shift = new double[count], stretch = new double[count], weight = new double[count];
        double stripHeight = strips.Length > 1 ? strips[1].N - strips[0].N : 2;
        for (int j = 0; j < count; j++)
        {
            Strip strip = strips[first + j];
            (double at, Complex sum) = BestStretch(strip, m, warp, stepMm);
            n[j] = strip.N;
            stretch[j] = at;
            shift[j] = -stepMm / (2 * Math.PI) * (-sum).Phase;
            weight[j] = sum.Magnitude * sum.Magnitude;
        }

        int start = best - first;
        for (int j = start + 1; j < count; j++)
            shift[j] = shift[j - 1] + Wrap(shift[j] - shift[j - 1], stepMm);
        for (int j = start - 1; j >= 0; j--)
            shift[j] = shift[j + 1] + Wrap(shift[j] - shift[j + 1], stepMm);

        (double shift0, double shiftPerPx) = Line(n, shift, weight);
        (double stretch0, double stretchPerPx) = Line(n, stretch, weight);
        // Ticks that lean more than 45 degrees are no ticks of this ruler: a shift that no reading reaches takes them out.
        if (Math.Abs(shiftPerPx) * periodPx / stepMm > 1)
            shift0 = double.NaN;
        return new LeanFit(Wrap(shift0, stepMm), stretch0, shiftPerPx, stretchPerPx,
            n[0] - stripHeight / 2, n[count - 1] + stripHeight / 2);
    }

    private static (double StretchMm, Complex Sum) BestStretch(Strip strip, double[] m, Warp warp, double stepMm)
    {
        double at = warp.StretchMm, width = 0.1 * stepMm;
        Complex sum = Sum(strip, m, warp, stepMm);
        for (int round = 0; round < 16; round++)
        {
            Complex less = Sum(strip, m, warp with { StretchMm = at - width }, stepMm), more = Sum(strip, m, warp with { StretchMm = at + width }, stepMm);
            if (less.Magnitude > sum.Magnitude && less.Magnitude >= more.Magnitude)
                (at, sum) = (at - width, less);
            else if (more.Magnitude > sum.Magnitude)
                (at, sum) = (at + width, more);
            else
                width /= 2;
        }

        return (at, sum);
    }

    private static (double At0, double Slope) Line(double[] x, double[] y, double[] weight)
    {
        double w = weight.Sum(), meanX = 0, meanY = 0, xx = 0, xy = 0;
        for (int i = 0; i < x.Length; i++)
        {
            meanX += weight[i] * x[i] / w;
            meanY += weight[i] * y[i] / w;
        }

        for (int i = 0; i < x.Length; i++)
        {
            xx += weight[i] * (x[i] - meanX) * (x[i] - meanX);
            xy += weight[i] * (x[i] - meanX) * (y[i] - meanY);
        }

        double slope = xx > 0 ? xy / xx : 0;
        return (meanY - slope * meanX, slope);
    }

    /// <summary>Tick K at distance n lies where true reading + stretch change m = K + shift(n): its lean is the change of place with n.</summary>
    private static AxisFrame LeanOfTicks(AxisFrame frame, RulerScale clicked, Warp warp, LeanFit lean)
    {
        const int Points = 9;
        double[] place = new double[Points], slope = new double[Points], weight = new double[Points];
        for (int i = 0; i < Points; i++)
        {
            double m = -1 + 2.0 * i / (Points - 1), small = 1e-4;
            double clickedMm = warp.CentreMm + warp.HalfMm * m;
            double trueSlope = (warp.TrueReading(m + small) - warp.TrueReading(m - small)) / (2 * small * warp.HalfMm);
            PicturePoint point = clicked.PointAt(clickedMm);
            place[i] = clicked.PlaceOf(point);
            slope[i] = (lean.ShiftPerPx - lean.StretchPerPx * m) / trueSlope / clicked.MillimetresPerPixelAt(point);
            weight[i] = 1;
        }

        (double at0, double growth) = Line(place, slope, weight);
        return frame with { Lean = at0, LeanGrowth = growth };
    }

    private static (List<RulerMark> Ticks, CarriedAxis Axis)? FitTicks(RowsOfTicks rows, RulerScale clicked, AxisFrame frame, Warp warp, double shiftMm,
        double stepMm, TickFinderOptions options, RulerScaleOptions scaleOptions)
    {
        long first = (long)Math.Ceiling((clicked.MinReadingMm - 0.5 * stepMm) / stepMm), last = (long)Math.Floor((clicked.MaxReadingMm + 0.5 * stepMm) / stepMm);
        Dictionary<long, double> guesses = [];
        for (long k = first; k <= last; k++)
        {
            double clickedMm = warp.CentreMm + warp.HalfMm * warp.Invert(k * stepMm + shiftMm);
            guesses[k] = clicked.PlaceOf(clicked.PointAt(clickedMm));
        }

        double pxPerMm = 1 / clicked.MillimetresPerPixelAt(clicked.PointAt(warp.CentreMm));
        (frame, double growthUncertainty) = RefineLean(rows, frame, guesses, LargestGrowthPerMm / pxPerMm);
        Dictionary<long, TickLine> found = FitAll(rows, frame, guesses);
        if (found.Count < FewestTicks || found.Count < LowestShareFound * guesses.Count)
            return null;
        if (found.Values.First().SigmaPx > WidestTickSigmaMm * pxPerMm + WidestBlurSigmaPx)
            return null;
        RulerScaleOptions withLean = scaleOptions with { Ticks = frame.ToTickDirections() };
        List<RulerMark> ticks = Agreeing(found, frame, stepMm, options, withLean);

        // Outward from the marks, a fifth of the scale at a time, as long as most of the predicted ticks are there.
        for (int direction = -1; direction <= 1; direction += 2)
        {
            while (ticks.Count >= FewestTicks)
            {
                RulerScale scale = RulerScaleFitter.Fit(ticks, withLean);
                long edge = (long)Math.Round((direction < 0 ? scale.MinReadingMm : scale.MaxReadingMm) / stepMm);
                int more = Math.Max(3, ticks.Count / 5);
                guesses.Clear();
                for (int i = 1; i <= more; i++)
                {
                    PicturePoint point = scale.PointAt((edge + direction * i) * stepMm);
                    if (rows.Picture.Contains(point.UPx, point.VPx))
                        guesses[edge + direction * i] = frame.Of(point.UPx, point.VPx).S;
                }

                Dictionary<long, TickLine> further = FitAll(rows, frame, guesses);
                if (further.Count < 2 || further.Count < LowestShareFound * guesses.Count)
                    break;
                foreach ((long k, TickLine line) in further)
                    found[k] = line;
                int before = ticks.Count;
                ticks = Agreeing(found, frame, stepMm, options, withLean);
                if (ticks.Count <= before || guesses.Count < more)
                    break;
            }
        }

        if (ticks.Count < FewestTicks || RulerScaleFitter.Fit(ticks, withLean).MarkScatter > LargestScatter
            || ticks.Select(tick => tick.StandardUncertaintyPx!.Value).Order().ElementAt(ticks.Count / 2) > LargestTickUncertaintyPx)
        {
            return null;
        }

        return (ticks, new CarriedAxis(frame, Math.Abs(growthUncertainty * rows.MiddleN)));
    }

    /// <summary>What the lean is still off shows as a difference between the feet of the ticks' upper and lower halves: (dLean + dGrowth s) times the
    /// distance between the halves.</summary>
    /// <param name="rows">Where the ticks are.</param>
    /// <param name="frame">The axis with the lean so far.</param>
    /// <param name="guesses">Where each tick is expected.</param>
    /// <param name="largestGrowth">Largest plausible growth of the lean, in 1/px.</param>
    /// <returns>The axis with the better lean, and the standard uncertainty of its growth, in 1/px.</returns>
    private static (AxisFrame Frame, double GrowthUncertainty) RefineLean(
        RowsOfTicks rows, AxisFrame frame, Dictionary<long, double> guesses, double largestGrowth)
    {
        // A uniform distribution between the bounds.
        (AxisFrame, double) unknown = (frame with { LeanGrowth = 0 }, largestGrowth / Math.Sqrt(3));
        if (rows.ToN - rows.FromN < 6)
            return unknown;
        Dictionary<long, TickLine> near = FitEach(rows with { ToN = rows.MiddleN }, frame, guesses, null);
        Dictionary<long, TickLine> far = FitEach(rows with { FromN = rows.MiddleN }, frame, guesses, null);
        long[] both = [.. near.Keys.Where(far.ContainsKey).Order()];
        if (both.Length < FewestTicks)
            return unknown;
        double apart = (rows.ToN - rows.FromN) / 2;
        double[] place = [.. both.Select(k => guesses[k])], lean = [.. both.Select(k => (far[k].PlacePx - near[k].PlacePx) / apart)];
        double[] weight = [.. both.Select(k => 1 / (Math.Pow(near[k].UncertaintyPx, 2) + Math.Pow(far[k].UncertaintyPx, 2)))];
        for (int round = 0; ; round++)
        {
            (double at0, double growth) = Line(place, lean, weight);
            double[] off = [.. place.Select((s, i) => lean[i] - at0 - growth * s)];
            if (round == 2)
                return (frame with { Lean = frame.Lean + at0, LeanGrowth = frame.LeanGrowth + growth }, SlopeUncertainty(place, off, weight));
            double limit = 4 * 1.4826 * off.Select(Math.Abs).Order().ElementAt(off.Length / 2);
            for (int i = 0; i < weight.Length; i++)
                weight[i] = Math.Abs(off[i]) > limit ? 0 : weight[i];
        }
    }

    private static double SlopeUncertainty(double[] x, double[] residual, double[] weight)
    {
        double w = weight.Sum(), mean = x.Select((at, i) => at * weight[i]).Sum() / w;
        double xx = x.Select((at, i) => weight[i] * (at - mean) * (at - mean)).Sum();
        double squares = residual.Select((r, i) => weight[i] * r * r).Sum();
        int left = weight.Count(one => one > 0) - 2;
        return left > 0 ? Math.Sqrt(squares / left / xx) : double.PositiveInfinity;
    }

    /// <summary>First each tick with a width of its own; the middle width then serves all, because ticks of one ruler are alike.</summary>
    private static Dictionary<long, TickLine> FitAll(RowsOfTicks rows, AxisFrame frame, Dictionary<long, double> guesses)
    {
        Dictionary<long, TickLine> first = FitEach(rows, frame, guesses, null);
        double[] widths = [.. first.Values.Select(line => line.SigmaPx).Order()];
        return widths.Length == 0 ? first : FitEach(rows, frame, guesses, widths[widths.Length / 2], first);
    }

    private static Dictionary<long, TickLine> FitEach(RowsOfTicks rows, AxisFrame frame, Dictionary<long, double> guesses, double? sigmaPx,
        Dictionary<long, TickLine>? near = null)
    {
        long[] keys = [.. guesses.Keys.Order()];
        Dictionary<long, TickLine> found = [];
        for (int i = 0; i < keys.Length && keys.Length >= 2; i++)
        {
            int before = Math.Max(i - 1, 0), after = Math.Min(i + 1, keys.Length - 1);
            double period = Math.Abs(guesses[keys[after]] - guesses[keys[before]]) / (keys[after] - keys[before]), guess = guesses[keys[i]];
            TickLine? start = near?.GetValueOrDefault(keys[i]);
            TickLine? line = TickLine.Fit(rows.Picture, frame, start?.PlacePx ?? guess, Math.Min(period / 2, LargestHalfWindowPx),
                rows.FromN, rows.ToN, rows.Sign, sigmaPx ?? Math.Clamp(0.15 * period, 0.8, 2), sigmaPx is null, start is not null);
            if (line is not null && Math.Abs(line.Depth) > LowestSignificance * line.DepthUncertainty && Math.Abs(line.PlacePx - guess) < 0.35 * period)
                found[keys[i]] = line;
        }

        return found;
    }

    /// <summary>The ticks that lie on one scale; the others (a scratch, a digit, the end of the streak) are left out.</summary>
    private static List<RulerMark> Agreeing(Dictionary<long, TickLine> found, AxisFrame frame, double stepMm, TickFinderOptions options,
        RulerScaleOptions scaleOptions)
    {
        List<RulerMark> ticks = [.. found.OrderBy(pair => pair.Key).Select(pair => new RulerMark(frame.PointAt(pair.Value.PlacePx, 0), pair.Key * stepMm)
        {
            StandardUncertaintyPx = Math.Sqrt(Math.Pow(pair.Value.UncertaintyPx, 2) + Math.Pow(options.SmallestUncertaintyPx, 2)),
        })];
        for (int round = 0; round < 5 && ticks.Count >= FewestTicks; round++)
        {
            RulerScale scale = RulerScaleFitter.Fit(ticks, scaleOptions);
            double[] size = [.. scale.Residuals.Select(residual => Math.Abs(residual.ResidualPx))];
            double middle = size.Order().ElementAt(size.Length / 2);
            // 1.4826 turns a median of absolute normal deviations into a standard deviation.
            double limit = 4 * 1.4826 * Math.Max(middle, options.SmallestUncertaintyPx / 2);
            List<RulerMark> kept = [.. ticks.Where((_, i) => size[i] <= limit && !scale.Residuals[i].Doubtful)];
            if (kept.Count == ticks.Count)
                break;
            ticks = kept;
        }

        return ticks;
    }

    private static double Wrap(double value, double period) => value - period * Math.Round(value / period);
}
