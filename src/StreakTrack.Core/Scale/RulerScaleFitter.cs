using MathNet.Numerics.Distributions;
using StreakTrack.Core.Findings;
using static System.FormattableString;

namespace StreakTrack.Core.Scale;

/// <summary>Fits the scale of a ruler to marks.</summary>
/// <remarks>
/// The axis is the total-least-squares line through the marks. Along it the map from reading to place is fitted by least squares of the
/// places, weighted where marks state their uncertainty. Which map: the corrected Akaike criterion (n ln(RSS / n) + 2 n K / (n - K - 1),
/// K one more than the number of parameters), in which the assumed scatter counts as <see cref="PriorResiduals"/> further residuals; a projective map
/// needs four marks and a lens term six, so that a residual remains to contradict it.
/// </remarks>
public static class RulerScaleFitter
{
    /// <summary>As how many residuals the assumed scatter counts beside few marks.</summary>
    private const int PriorResiduals = 3;

    /// <summary>Degrees of freedom from which the residuals alone give the scatter: the relative uncertainty of a standard deviation is then
    /// below a third, 1 / sqrt(2 dof).</summary>
    private const int DegreesForOwnScatter = 5;

    /// <summary>Marks accepted; far above what a ruler has ticks, and low enough that each can be left out in turn.</summary>
    private const int MostMarks = 1000;

    /// <summary>Places and readings beyond this are no pixels or millimetres of a ruler.</summary>
    private const double LargestNumber = 1e6;

    /// <summary>From more marks than this, leaving one out hardly changes the map.</summary>
    private const int ManyMarks = 20;

    /// <summary>Marks called doubtful at most: beyond that, the marks as a whole are the trouble.</summary>
    private const int MostDoubtful = 5;

    private const string Subject = "ruler marks";

    /// <summary>Fits a scale.</summary>
    /// <param name="marks">The marks, in any order; 2 to 1000.</param>
    /// <param name="options">How to fit.</param>
    /// <exception cref="UnusableInputException">The marks do not make a scale: fewer than two, two on one spot with different readings, one
    /// reading at two places, readings out of order, a number that is not finite.</exception>
    /// <exception cref="ArgumentOutOfRangeException">An option is out of its range, or tick directions run along the ruler.</exception>
    public static RulerScale Fit(IReadOnlyList<RulerMark> marks, RulerScaleOptions options)
    {
        ArgumentNullException.ThrowIfNull(marks);
        ArgumentNullException.ThrowIfNull(options);
        options.Validate();
        CheckNumbers(marks, options);

        Axis axis = FitAxis(marks);
        Points points = Project(marks, axis, options);
        CheckOrder(points, options);

        (RulerMap map, List<RulerModelScore> candidates) = Choose(points, options);
        int dof = marks.Count - map.ParameterCount;
        (double variance, ScatterOrigin origin) = Scatter(map.SumOfSquares, dof, points.HasStated, options.AssumedScatterPx);

        bool[] doubtful = new bool[marks.Count];
        List<Finding> findings = [];
        FindDoubtful(points, map.Model, options, doubtful, findings);
        FindOffAxis(points, doubtful, findings);
        if (marks.Count < 4)
        {
            findings.Add(FindingKinds.FewMarks.With(marks.Count == 2
                ? "There are only two marks: nothing checks them, and perspective is not corrected."
                : "There are only three marks: perspective is not corrected, and a wrong mark is hard to tell from it."));
        }

        var residuals = new MarkResidual[marks.Count];
        double squares = 0;
        for (int i = 0; i < residuals.Length; i++)
        {
            double residual = points.Place[i] - map.PlaceOf(points.Reading[i]);
            squares += residual * residual;
            LeftOut? left = LeaveOut(points, map, options, i);
            residuals[i] = new MarkResidual(i + 1, marks[i], residual, map.ReadingAt(points.Place[i]) - points.Reading[i], points.Across[i],
                left?.Studentised ?? double.NaN, left?.PredictedMm ?? double.NaN, doubtful[i]);
        }

        return new RulerScale(map, axis.Origin, (axis.U, axis.V), variance, options)
        {
            MinReadingMm = points.Reading.Min(),
            MaxReadingMm = points.Reading.Max(),
            Residuals = residuals,
            RmsPx = Math.Sqrt(squares / marks.Count),
            MarkScatter = Math.Sqrt(variance),
            ScatterOrigin = origin,
            DegreesOfFreedom = dof,
            Candidates = candidates,
            Findings = findings,
        };
    }

    private readonly record struct Axis(PicturePoint Origin, double U, double V);

    private sealed record Points(int[] Number, double[] Place, double[] Across, double[] Reading, double[] Weight, bool HasStated,
        double LensCentrePx)
    {
        public int Count => Place.Length;

        public Points Without(int index) => new(Drop(Number, index), Drop(Place, index), Drop(Across, index), Drop(Reading, index),
            Drop(Weight, index), HasStated, LensCentrePx);

        private static T[] Drop<T>(T[] values, int index) => [.. values[..index], .. values[(index + 1)..]];
    }

    private sealed record LeftOut(double Studentised, double PredictedMm, double StudentDegrees);

    private static void CheckNumbers(IReadOnlyList<RulerMark> marks, RulerScaleOptions options)
    {
        if (marks.Count < 2)
        {
            throw new UnusableInputException(Subject, marks.Count == 0 ? "there are none" : "there is only one",
                "Mark at least two ticks, better four or more, spread over the whole streak.");
        }

        if (marks.Count > MostMarks)
            throw new UnusableInputException(Subject, $"there are {marks.Count}", $"Use at most {MostMarks} marks.");
        for (int i = 0; i < marks.Count; i++)
        {
            RulerMark mark = marks[i];
            if (!(Math.Abs(mark.Point.UPx) <= LargestNumber && Math.Abs(mark.Point.VPx) <= LargestNumber
                && Math.Abs(mark.ReadingMm) <= LargestNumber))
            {
                throw new UnusableInputException(Invariant($"mark {i + 1}"),
                    Invariant($"its numbers ({mark.Point.UPx}, {mark.Point.VPx}; {mark.ReadingMm} mm) are not a place and a reading"),
                    Invariant($"Give each mark a place in px and a reading in mm, all below {LargestNumber:0} in size."));
            }

            if (mark.StandardUncertaintyPx is { } u && !(u > 1e-6 && u <= LargestNumber))
            {
                throw new UnusableInputException(Invariant($"mark {i + 1}"),
                    Invariant($"its uncertainty of {u} px is not a positive number"), "State the uncertainty of its place in px, or none.");
            }
        }

        for (int i = 0; i < marks.Count; i++)
        {
            for (int j = 0; j < i; j++)
                CheckPair(marks[j], j + 1, marks[i], i + 1, options);
        }

        if (marks.All(mark => mark.ReadingMm == marks[0].ReadingMm))
        {
            throw new UnusableInputException(Subject, Invariant($"all have the reading {marks[0].ReadingMm} mm"),
                "Mark a second tick with another reading.");
        }
    }

    private static void CheckPair(RulerMark a, int numberA, RulerMark b, int numberB, RulerScaleOptions options)
    {
        double distance = Distance(a.Point, b.Point);
        if (a.ReadingMm != b.ReadingMm && distance < 1)
        {
            throw new UnusableInputException(Invariant($"marks {numberA} and {numberB}"),
                Invariant($"they lie on the same spot ({b.Point.UPx:0.#}, {b.Point.VPx:0.#}) but read {a.ReadingMm} and {b.ReadingMm} mm"),
                "Move one of them to its tick, or remove it.");
        }

        if (a.ReadingMm == b.ReadingMm && distance > 5 * Math.Sqrt(2) * options.AssumedScatterPx)
        {
            throw new UnusableInputException(Invariant($"marks {numberA} and {numberB}"),
                Invariant($"both read {a.ReadingMm} mm but lie {distance:0.#} px apart"),
                "Correct the reading of one of them, or remove it.");
        }
    }

    private static double Distance(PicturePoint a, PicturePoint b) => Math.Sqrt(Math.Pow(a.UPx - b.UPx, 2) + Math.Pow(a.VPx - b.VPx, 2));

    private static Axis FitAxis(IReadOnlyList<RulerMark> marks)
    {
        double u = marks.Average(mark => mark.Point.UPx), v = marks.Average(mark => mark.Point.VPx);
        double uu = 0, uv = 0, vv = 0, towardU = 0, towardV = 0, meanReading = marks.Average(mark => mark.ReadingMm);
        foreach (RulerMark mark in marks)
        {
            double du = mark.Point.UPx - u, dv = mark.Point.VPx - v;
            uu += du * du;
            uv += du * dv;
            vv += dv * dv;
            towardU += du * (mark.ReadingMm - meanReading);
            towardV += dv * (mark.ReadingMm - meanReading);
        }

        // Direction of the larger principal axis of the scatter matrix.
        double angle = 0.5 * Math.Atan2(2 * uv, uu - vv), axisU = Math.Cos(angle), axisV = Math.Sin(angle);
        return axisU * towardU + axisV * towardV < 0
            ? new Axis(new PicturePoint(u, v), -axisU, -axisV)
            : new Axis(new PicturePoint(u, v), axisU, axisV);
    }

    private static Points Project(IReadOnlyList<RulerMark> marks, Axis axis, RulerScaleOptions options)
    {
        int n = marks.Count;
        double[] place = new double[n], across = new double[n], reading = new double[n], weight = new double[n];
        bool stated = marks.Any(mark => mark.StandardUncertaintyPx is not null);
        for (int i = 0; i < n; i++)
        {
            double du = marks[i].Point.UPx - axis.Origin.UPx, dv = marks[i].Point.VPx - axis.Origin.VPx;
            across[i] = dv * axis.U - du * axis.V;
            place[i] = du * axis.U + dv * axis.V;
            if (options.Ticks is { } ticks)
            {
                (double tickU, double tickV) = ticks.At(marks[i].Point);
                double tickAcross = tickV * axis.U - tickU * axis.V;
                // A tick must cross the ruler's axis clearly: below about 3 degrees its foot would be anywhere.
                if (!(Math.Abs(tickAcross) > 0.05))
                {
                    throw new ArgumentOutOfRangeException(nameof(options), ticks, Invariant($"The tick at mark {i + 1} would run along the ruler."));
                }

                place[i] -= across[i] * (tickU * axis.U + tickV * axis.V) / tickAcross;
            }

            reading[i] = marks[i].ReadingMm;
            double u = marks[i].StandardUncertaintyPx ?? options.AssumedScatterPx;
            weight[i] = stated ? 1 / (u * u) : 1;
        }

        double lensCentre = options.PictureCentre is { } centre
            ? (centre.UPx - axis.Origin.UPx) * axis.U + (centre.VPx - axis.Origin.VPx) * axis.V
            : (place.Min() + place.Max()) / 2;
        return new Points([.. Enumerable.Range(1, n)], place, across, reading, weight, stated, lensCentre);
    }

    private static void CheckOrder(Points points, RulerScaleOptions options)
    {
        int[] order = [.. Enumerable.Range(0, points.Count).OrderBy(i => points.Reading[i]).ThenBy(i => points.Place[i])];
        // Two good marks can change places by their scatter only.
        double slack = 5 * Math.Sqrt(2) * options.AssumedScatterPx;
        int at = FirstInversion(order, points, slack);
        if (at < 0)
            return;

        int[] culprits = [.. order.Where(i => FirstInversion([.. order.Where(j => j != i)], points, slack) < 0)];
        if (culprits.Length == 1 && points.Count > 3)
        {
            int culprit = culprits[0];
            Points others = points.Without(culprit);
            double predicted = RulerMap.Fit(RulerModel.Linear, others.Place, others.Reading, others.Weight, FrameOf(others, options))
                ?.ReadingAt(points.Place[culprit]) ?? double.NaN;
            throw new UnusableInputException(Invariant($"mark {points.Number[culprit]}"),
                Invariant($"its reading of {points.Reading[culprit]} mm is out of order: the other marks read about {predicted:0.#} mm at its place"),
                "Correct its reading or its place, or remove it.");
        }

        int a = order[at], b = order[at + 1];
        throw new UnusableInputException(Invariant($"marks {points.Number[a]} and {points.Number[b]}"),
            Invariant($"their readings of {points.Reading[a]} and {points.Reading[b]} mm are out of order along the ruler"),
            "Readings must grow steadily from one end of the ruler to the other: correct the readings, or remove the wrong marks.");
    }

    private static int FirstInversion(int[] order, Points points, double slackPx)
    {
        for (int k = 0; k + 1 < order.Length; k++)
        {
            if (points.Place[order[k]] > points.Place[order[k + 1]] + slackPx)
                return k;
        }

        return -1;
    }

    private static RulerMap.Frame FrameOf(Points points, RulerScaleOptions options)
    {
        double min = points.Reading.Min(), max = points.Reading.Max();
        double span = points.Place.Max() - points.Place.Min();
        return new RulerMap.Frame((min + max) / 2, Math.Max((max - min) / 2, 1e-9), points.LensCentrePx,
            Math.Max(span / 2, options.AssumedScatterPx));
    }

    private static (RulerMap Map, List<RulerModelScore> Candidates) Choose(Points points, RulerScaleOptions options)
    {
        RulerModel[] models = options.Model is { } asked ? [asked] : Enum.GetValues<RulerModel>();
        List<RulerModelScore> candidates = [];
        RulerMap? best = null;
        double bestCriterion = double.PositiveInfinity;
        foreach (RulerModel model in models)
        {
            if (options.Model is null && points.Count < FewestMarks(model))
                continue;
            RulerMap? map = RulerMap.Fit(model, points.Place, points.Reading, points.Weight, FrameOf(points, options));
            if (map is null)
                continue;
            double criterion = Criterion(map, points, options);
            candidates.Add(new RulerModelScore(model, map.ParameterCount, map.SumOfSquares, criterion));
            if (best is null || criterion < bestCriterion)
                (best, bestCriterion) = (map, criterion);
        }

        if (best is null)
        {
            throw new UnusableInputException(Subject,
                options.Model is null
                    ? "no map fits them: their places and readings do not belong together"
                    : Invariant($"they do not determine a map of the kind {options.Model}"),
                "Check the readings, and mark at least four ticks spread over the whole streak.");
        }

        return (best, candidates);
    }

    private static int FewestMarks(RulerModel model) => model switch
    {
        RulerModel.Linear => 2,
        RulerModel.Projective => 4,
        _ => 6,
    };

    private static double Criterion(RulerMap map, Points points, RulerScaleOptions options)
    {
        double assumedVariance = points.HasStated ? 1 : options.AssumedScatterPx * options.AssumedScatterPx;
        double n = points.Count + PriorResiduals, k = map.ParameterCount + 1;
        return n * Math.Log((map.SumOfSquares + PriorResiduals * assumedVariance) / n) + 2 * n * k / (n - k - 1);
    }

    private static (double Variance, ScatterOrigin Origin) Scatter(double sumOfSquares, int dof, bool stated, double assumedPx)
    {
        if (stated)
            return (Math.Max(1, dof > 0 ? sumOfSquares / dof : 1), ScatterOrigin.Stated);
        double assumed = assumedPx * assumedPx;
        return dof switch
        {
            >= DegreesForOwnScatter => (sumOfSquares / dof, ScatterOrigin.Estimated),
            > 0 => ((sumOfSquares + PriorResiduals * assumed) / (dof + PriorResiduals), ScatterOrigin.EstimatedWithAssumed),
            _ => (assumed, ScatterOrigin.Assumed),
        };
    }

    /// <summary>What the others say about a mark. Among few marks the others are fitted anew; among many no single one bends the map, and the
    /// one-step formulas of linear regression (residual / (1 - leverage)) give the same.</summary>
    private static LeftOut? LeaveOut(Points points, RulerMap all, RulerScaleOptions options, int index)
    {
        double reading = points.Reading[index], weight = points.Weight[index];
        double residual, leverage, sumOfSquares, predictedMm;
        if (points.Count > ManyMarks)
        {
            double ownResidual = points.Place[index] - all.PlaceOf(reading), own = weight * Leverage(all, reading);
            residual = ownResidual / (1 - own);
            leverage = own / weight / (1 - own);
            sumOfSquares = Math.Max(0, all.SumOfSquares - weight * ownResidual * residual);
            predictedMm = reading + residual / all.PixelsPerMillimetre(reading);
        }
        else
        {
            Points others = points.Without(index);
            if (others.Count < 2 || others.Reading.All(x => x == others.Reading[0]))
                return null;
            RulerMap? map = RulerMap.Fit(all.Model, others.Place, others.Reading, others.Weight, FrameOf(points, options), all);
            if (map is null)
                return null;
            residual = points.Place[index] - map.PlaceOf(reading);
            leverage = Leverage(map, reading);
            sumOfSquares = map.SumOfSquares;
            predictedMm = map.ReadingAt(points.Place[index]);
        }

        int dof = points.Count - 1 - all.ParameterCount;
        (double variance, ScatterOrigin origin) = Scatter(sumOfSquares, dof, points.HasStated, options.AssumedScatterPx);
        double degrees = origin switch
        {
            ScatterOrigin.Estimated => dof,
            ScatterOrigin.EstimatedWithAssumed => dof + PriorResiduals,
            ScatterOrigin.Assumed => PriorResiduals,
            _ => Math.Max(dof, PriorResiduals),
        };
        return new LeftOut(residual / Math.Sqrt(variance * (1 / weight + leverage)), predictedMm, degrees);
    }

    private static double Leverage(RulerMap map, double readingMm)
    {
        double[] g = map.PlaceGradient(readingMm);
        double sum = 0;
        for (int j = 0; j < g.Length; j++)
        {
            for (int k = 0; k < g.Length; k++)
                sum += g[j] * g[k] * map.Cofactor[j, k];
        }

        return sum;
    }

    /// <summary>Takes out the worst mark again and again; those up to the last that disagrees with all that are left are doubtful, so that one
    /// wrong mark does not hide a second (Rosner's generalised extreme studentised deviate test, Technometrics 25 (1983) 165, applied to
    /// leave-one-out residuals).</summary>
    private static void FindDoubtful(Points points, RulerModel model, RulerScaleOptions options, bool[] doubtful, List<Finding> findings)
    {
        Points left = points;
        int most = Math.Clamp(points.Count / 4, 1, MostDoubtful);
        List<(int Number, Finding Finding)> removed = [];
        int significant = 0;
        while (removed.Count < most && left.Count >= 3)
        {
            int worst = -1;
            LeftOut? worstCase = null;
            RulerMap? all = RulerMap.Fit(model, left.Place, left.Reading, left.Weight, FrameOf(left, options));
            if (all is null)
                break;
            for (int i = 0; i < left.Count; i++)
            {
                LeftOut? one = LeaveOut(left, all, options, i);
                if (one is not null && (worstCase is null || Math.Abs(one.Studentised) > Math.Abs(worstCase.Studentised)))
                    (worst, worstCase) = (i, one);
            }

            if (worstCase is null)
                break;
            int number = left.Number[worst];
            string which = Invariant($"Mark {number} reads {left.Reading[worst]:0.###} mm, but the other marks predict ")
                + Invariant($"{worstCase.PredictedMm:0.##} mm at its place");
            removed.Add((number, FindingKinds.MarkDoubtful.With(left.Count == 3
                ? which + "; with three marks any of them may be the wrong one, or the view is slanted."
                : which + Invariant($" ({Math.Abs(worstCase.Studentised):0.0} times its standard deviation)."))));
            double chance = 2 * StudentT.CDF(0, 1, worstCase.StudentDegrees, -Math.Abs(worstCase.Studentised));
            if (chance < options.DoubtLevel / left.Count)
                significant = removed.Count;
            left = left.Without(worst);
        }

        foreach ((int number, Finding finding) in removed.Take(significant))
        {
            doubtful[number - 1] = true;
            findings.Add(finding);
        }
    }

    /// <summary>A mark well off the line of the others was set at a wrong place even if its place along the ruler happens to fit.</summary>
    private static void FindOffAxis(Points points, bool[] doubtful, List<Finding> findings)
    {
        double span = points.Place.Max() - points.Place.Min();
        for (int i = 0; i < points.Count; i++)
        {
            // A tenth of the marked piece: ticks are far shorter than that, and marks may lie anywhere along them.
            if (!doubtful[i] && Math.Abs(points.Across[i]) > 0.1 * span)
            {
                doubtful[i] = true;
                findings.Add(FindingKinds.MarkDoubtful.With(Invariant($"Mark {i + 1} ({points.Reading[i]} mm) lies ")
                    + Invariant($"{Math.Abs(points.Across[i]):0} px off the line through the marks.")));
            }
        }
    }
}
