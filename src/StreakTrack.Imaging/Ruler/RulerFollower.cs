using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.Statistics;
using StreakTrack.Core;
using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Ruler;

/// <summary>Follows the ruler through a clip: its ticks, digits and edges are laid over those of a reference picture. Made once from the reference
/// picture, then fed frame by frame; not for several threads at once.</summary>
/// <remarks>
/// Least squares of brightness (Lucas and Kanade's image alignment in its inverse compositional form: S. Baker and I. Matthews, Int. J. Comput.
/// Vision 56 (2004) 221, from memory) over the pixels with the strongest gradients: an affine motion, a common gain for exposure, an offset
/// for every patch of the ruler, which takes up the streak's glare and shadows, and Tukey's weights against hands and reflections. Before it,
/// whole-pixel shifts around the last frame's are compared by correlation, in which the digits tell one tick from the next.
/// </remarks>
public sealed class RulerFollower
{
    private const int Parameters = 7;

    /// <summary>Patches along and across the ruler: each holds some dozens of the pixels.</summary>
    private const int PatchesAlong = 24;
    private const int PatchesAcross = 6;
    private const int Iterations = 15;
    private const int RoundsWithScale = 4;
    private const int CoarsePixels = 900;

    /// <summary>Steps below this end the iteration, in px: a fiftieth of what a codec leaves of a shift.</summary>
    private const double StillStepPx = 1e-3;

    /// <summary>Below this correlation two pictures do not show the same ruler.</summary>
    private const double LowestCorrelation = 0.5;

    /// <summary>Above this correlation the ruler lies where it lay in the last frame, to less than half a tick.</summary>
    private const double StillCorrelation = 0.9;

    /// <summary>The least that is searched where nothing is known of the way from one frame to the next, in px.</summary>
    private const double FarReachPx = 40;

    /// <summary>A frame that correlates by so much less than is usual may have been taken for one a tick beside it.</summary>
    private const double SuspiciousDrop = 0.1;

    /// <summary>More places than these are compared by a part of the pixels first, and only the best with all.</summary>
    private const int ManyPlaces = 1000, Candidates = 40;

    /// <summary>Standard deviation of what turning and distance do not explain of the affine change, per px: the shear of a rolling shutter (a hand's 50 px/s
    /// times 20 us a row) and perspective.</summary>
    private const double ShearSd = 1e-3;

    /// <summary>What a codec leaves of a shift: it moves blocks by quarters of a pixel, whose standard deviation this is, in px.</summary>
    private const double BlockShiftSdPx = 0.07;

    /// <summary>Shift that all patches of a picture have in common, as a part of the scatter of their own shifts: a codec that moves blocks one by one moves
    /// many of them alike. Measured on simulated clips of many qualities, where it lies between a half and one.</summary>
    private const double CommonShare = 0.7;

    /// <summary>What interpolation between pixels leaves of a shift, in px, as clips coded without loss show.</summary>
    private const double InterpolationSdPx = 0.012;

    private readonly double _reachPx;
    private readonly PicturePoint _centre;
    private readonly int[] _u, _v, _patch;
    private readonly double[] _value;
    private readonly double[] _jacobian;
    private readonly int[] _coarse;
    private readonly double[] _sample, _residual, _sorted;
    private readonly PatchSums _patchSums = new();
    private readonly PatchShifts _patchShifts = new();
    private readonly RulerMotion _first;
    private RulerMotion _last;
    private double _usualCorrelation = double.NaN;
    private bool _lost = true;

    /// <summary>Prepares the reference.</summary>
    /// <param name="reference">The picture that the scale belongs to.</param>
    /// <param name="scale">The scale.</param>
    /// <param name="options">How to follow.</param>
    /// <exception cref="UnusableInputException">The reference picture shows too little beside the streak to follow.</exception>
    /// <exception cref="ArgumentOutOfRangeException">An option is out of its range.</exception>
    public RulerFollower(RulerPicture reference, RulerScale scale, RulerFollowerOptions options)
    {
        ArgumentNullException.ThrowIfNull(reference);
        ArgumentNullException.ThrowIfNull(scale);
        ArgumentNullException.ThrowIfNull(options);
        options.Validate();
        _reachPx = options.ReachPx;
        _centre = scale.PointAt(scale.MiddleReadingMm);
        _first = _last = new RulerMotion(_centre, 0, 0, 0, 0, 0, 0, 1, 1, 0, true);

        List<Pixel> pixels = Choose(reference, scale, _centre, options);
        if (pixels.Count < 200)
        {
            throw new UnusableInputException("ruler", "it shows too little beside the streak to be followed through the clip",
                "Film with more light on the ruler, or with the phone on a stand.");
        }

        int count = pixels.Count;
        _u = [.. pixels.Select(pixel => pixel.U)];
        _v = [.. pixels.Select(pixel => pixel.V)];
        _patch = [.. pixels.Select(pixel => pixel.Patch)];
        _value = [.. pixels.Select(pixel => (double)reference[pixel.U, pixel.V])];
        _jacobian = new double[count * Parameters];
        _sample = new double[count];
        _residual = new double[count];
        _sorted = new double[count];
        for (int i = 0; i < count; i++)
        {
            Pixel pixel = pixels[i];
            double du = pixel.U - _centre.UPx, dv = pixel.V - _centre.VPx;
            Span<double> row = _jacobian.AsSpan(i * Parameters, Parameters);
            (row[0], row[1], row[2], row[3], row[4], row[5], row[6]) = (pixel.GradientU, pixel.GradientV,
                pixel.GradientU * du, pixel.GradientU * dv, pixel.GradientV * du, pixel.GradientV * dv, _value[i]);
        }

        // The offsets of the patches are projected out once here, and of the residuals in each round.
        double[] column = new double[count];
        for (int j = 0; j < Parameters; j++)
        {
            for (int i = 0; i < count; i++)
                column[i] = _jacobian[i * Parameters + j];
            _patchSums.TakeOutMeans(column, _patch);
            for (int i = 0; i < count; i++)
                _jacobian[i * Parameters + j] = column[i];
        }

        // Every k-th of a list ordered by place: spread over the whole ruler.
        int stride = Math.Max(1, count / CoarsePixels);
        _coarse = [.. Enumerable.Range(0, count / stride).Select(i => i * stride)];
    }

    /// <summary>Finds the ruler in a frame.</summary>
    /// <param name="frame">The frame; it may be cut to any rectangle that holds most of the ruler.</param>
    /// <param name="apart">Whether much time has passed since the last frame, so that the ruler may lie anywhere.</param>
    /// <returns>Its motion since the reference picture.</returns>
    public RulerMotion Follow(RulerPicture frame, bool apart = false)
    {
        ArgumentNullException.ThrowIfNull(frame);
        RulerMotion? found = _lost || apart ? null : Refine(frame, Coarse(frame, _last, _reachPx));
        if (!IsUsual(found))
        {
            // A tick too far correlates nearly as well. The right place does better, and lies near the last one or about where the ruler was at first.
            double far = Math.Max(4 * _reachPx, FarReachPx);
            found = Better(found, Refine(frame, Coarse(frame, _last, far)));
            if (!IsUsual(found) && Math.Max(Math.Abs(_last.ShiftUPx), Math.Abs(_last.ShiftVPx)) > far / 4)
                found = Better(found, Refine(frame, Coarse(frame, _first, far)));
        }

        _lost = found is null;
        if (found is not { } motion)
            return _last with { Followed = false, Correlation = 0 };
        if (motion.Correlation < 1)
            _usualCorrelation = double.IsNaN(_usualCorrelation) ? motion.Correlation : _usualCorrelation + 0.1 * (motion.Correlation - _usualCorrelation);
        _last = motion;
        return motion;
    }

    private bool IsUsual(RulerMotion? motion) =>
        motion is { } found && (found.Correlation > StillCorrelation || found.Correlation > _usualCorrelation - SuspiciousDrop);

    private static RulerMotion? Better(RulerMotion? a, RulerMotion? b) =>
        a is null || (b is not null && b.Value.Correlation > a.Value.Correlation) ? b : a;

    private static List<Pixel> Choose(RulerPicture reference, RulerScale scale, PicturePoint centre,
        RulerFollowerOptions options)
    {
        AxisFrame axis = new(centre, scale.AxisDirection);
        (PicturePoint from, PicturePoint to) = options.StreakLine ?? (scale.PointAt(scale.MinReadingMm), scale.PointAt(scale.MaxReadingMm));
        double lineU = to.UPx - from.UPx, lineV = to.VPx - from.VPx, lineLength = Math.Sqrt(lineU * lineU + lineV * lineV);
        double across = options.AcrossMm / scale.MillimetresPerPixelAt(centre);
        double start = scale.PlaceOf(scale.PointAt(scale.MinReadingMm)) - scale.PlaceOf(centre);
        double end = scale.PlaceOf(scale.PointAt(scale.MaxReadingMm)) - scale.PlaceOf(centre);

        // A few cells along the ruler, each with its share of pixels, so that turning and distance show; half of a cell's share goes to
        // gradients along the ruler (ticks) and half to those across it (digits, edges), or one direction of the shift would hang on chance.
        Cell[] cells = [.. Enumerable.Range(0, PatchesAlong).Select(_ => new Cell())];
        const int margin = 2;
        for (int v = reference.OffsetV + margin; v < reference.OffsetV + reference.Height - margin; v++)
        {
            for (int u = reference.OffsetU + margin; u < reference.OffsetU + reference.Width - margin; u++)
            {
                (double s, double n) = axis.Of(u, v);
                if (!(Math.Abs(n) <= across && s >= start && s <= end))
                    continue;
                double fromStreak = lineLength > 0 ? Math.Abs((v - from.VPx) * lineU - (u - from.UPx) * lineV) / lineLength : double.PositiveInfinity;
                if (fromStreak < options.StreakHalfWidthPx)
                    continue;
                double gu = (reference[u + 1, v] - reference[u - 1, v]) / 2, gv = (reference[u, v + 1] - reference[u, v - 1]) / 2;
                int cell = Math.Min(PatchesAlong - 1, (int)((s - start) / (end - start) * PatchesAlong));
                int level = Math.Min(PatchesAcross - 1, (int)((n + across) / (2 * across) * PatchesAcross));
                cells[cell].Pixels.Add(new Pixel(u, v, gu, gv, cell * PatchesAcross + level));
                cells[cell].Along.Add(Math.Abs(gu * axis.Direction.UPx + gv * axis.Direction.VPx));
                cells[cell].Across.Add(Math.Abs(gv * axis.Direction.UPx - gu * axis.Direction.VPx));
            }
        }

        int share = options.PixelCount / PatchesAlong / 2;
        HashSet<Pixel> chosen = [];
        foreach (Cell cell in cells)
        {
            AddStrongest(chosen, cell.Pixels, cell.Along, share);
            AddStrongest(chosen, cell.Pixels, cell.Across, share);
        }

        return [.. chosen.OrderBy(pixel => pixel.V).ThenBy(pixel => pixel.U)];
    }

    // Of equally strong ones the first.
    private static void AddStrongest(HashSet<Pixel> chosen, List<Pixel> pixels, List<double> strengths, int count)
    {
        double least = double.NegativeInfinity;
        int ofLeast = 0;
        if (pixels.Count > count)
        {
            // Finding the place of the last one in takes a small part of what sorting all would.
            least = ArrayStatistics.OrderStatisticInplace([.. strengths], pixels.Count - count + 1);
            ofLeast = count - strengths.Count(s => s > least);
        }

        for (int i = 0; i < pixels.Count; i++)
        {
            if (strengths[i] > least || (strengths[i] == least && ofLeast-- > 0))
                chosen.Add(pixels[i]);
        }
    }

    /// <summary>The whole-pixel shift near a former motion that correlates best; null when none does.</summary>
    private RulerMotion? Coarse(RulerPicture frame, in RulerMotion former, double reachPx)
    {
        int reach = (int)reachPx, side = 2 * reach + 1;
        Span<int> atU = stackalloc int[_coarse.Length], atV = stackalloc int[_coarse.Length];
        for (int k = 0; k < _coarse.Length; k++)
        {
            PicturePoint point = former.ToFrame(new PicturePoint(_u[_coarse[k]], _v[_coarse[k]]));
            (atU[k], atV[k]) = ((int)Math.Round(point.UPx), (int)Math.Round(point.VPx));
        }

        // A ruler that hardly moved needs no search.
        if (Correlate(frame, atU, atV, 0, 0, 1) > StillCorrelation)
            return former;

        // Every few of the pixels tell which places are worth a closer look.
        int every = side * side > ManyPlaces ? 4 : 1;
        var scores = new (double Score, int U, int V)[side * side];
        for (int dv = -reach, at = 0; dv <= reach; dv++)
        {
            for (int du = -reach; du <= reach; du++)
                scores[at++] = (Correlate(frame, atU, atV, du, dv, every), du, dv);
        }

        Array.Sort(scores, (a, b) => b.Score.CompareTo(a.Score));
        (double best, int bestU, int bestV) = (double.NegativeInfinity, 0, 0);
        foreach ((_, int du, int dv) in scores.AsSpan(0, Math.Min(scores.Length, Candidates)))
        {
            double score = Correlate(frame, atU, atV, du, dv, 1);
            if (score > best)
                (best, bestU, bestV) = (score, du, dv);
        }

        return best > 0.5 * LowestCorrelation
            ? former with { ShiftUPx = former.ShiftUPx + bestU, ShiftVPx = former.ShiftVPx + bestV }
            : null;
    }

    private double Correlate(RulerPicture frame, ReadOnlySpan<int> atU, ReadOnlySpan<int> atV, int du, int dv, int every)
    {
        _patchSums.Clear();
        for (int k = 0; k < atU.Length; k += every)
        {
            int u = atU[k] + du, v = atV[k] + dv;
            if (frame.Holds(u, v))
                _patchSums.Add(_patch[_coarse[k]], _value[_coarse[k]], frame[u, v]);
        }

        return _patchSums.Count > atU.Length / (2 * every) ? _patchSums.Correlation() : double.NegativeInfinity;
    }

    private RulerMotion? Refine(RulerPicture frame, RulerMotion? start)
    {
        if (start is not { } motion)
            return null;
        Vector<double> step;
        Matrix<double>? normal = null;
        double gain = motion.Gain, scale = 0;
        for (int iteration = 0; iteration < Iterations; iteration++)
        {
            int inside = 0;
            for (int i = 0; i < _u.Length; i++)
            {
                PicturePoint point = motion.ToFrame(new PicturePoint(_u[i], _v[i]));
                _sample[i] = frame.CubicAt(point.UPx, point.VPx);
                _residual[i] = _sample[i] - gain * _value[i];
            }

            _patchSums.TakeOutMeans(_residual, _patch);
            for (int i = 0; i < _u.Length; i++)
            {
                if (double.IsFinite(_residual[i]))
                    _sorted[inside++] = Math.Abs(_residual[i]);
            }

            if (inside < _u.Length / 2)
                return null;
            if (iteration < RoundsWithScale)
            {
                // 1.4826 turns the median absolute residual into a standard deviation; after a few rounds it no longer changes.
                Array.Sort(_sorted, 0, inside);
                scale = 1.4826 * Math.Max(_sorted[inside / 2], 1e-3 * Math.Abs(gain));
            }

            // Tukey's biweight with its usual 4.685 standard deviations, wider while the motion is still rough.
            (normal, Vector<double> right) = NormalEquations(iteration < 2 ? 3 * scale : scale);
            HoldShear(normal, right, motion, gain, scale);
            try
            {
                step = normal.Cholesky().Solve(right);
            }
            catch (ArgumentException)
            {
                // Not positive definite: the frame shows nothing of the ruler.
                return null;
            }

            // The jacobian belongs to the reference; the frame's own is larger by the gain.
            double g = Math.Abs(gain) > 1e-6 ? gain : 1;
            gain += step[6];
            motion = motion with
            {
                ShiftUPx = motion.ShiftUPx - step[0] / g, ShiftVPx = motion.ShiftVPx - step[1] / g,
                UU = motion.UU - step[2] / g, UV = motion.UV - step[3] / g, VU = motion.VU - step[4] / g, VV = motion.VV - step[5] / g,
            };
            if (!(Math.Abs(motion.UU) < 0.2 && Math.Abs(motion.UV) < 0.2 && Math.Abs(motion.VU) < 0.2 && Math.Abs(motion.VV) < 0.2))
                return null;
            if (iteration >= 2 && Math.Abs(step[0]) + Math.Abs(step[1]) < StillStepPx * Math.Abs(g))
                break;
        }

        _patchSums.Clear();
        for (int i = 0; i < _sample.Length; i++)
        {
            if (double.IsFinite(_sample[i]))
                _patchSums.Add(_patch[i], _value[i], _sample[i]);
        }

        double correlation = _patchSums.Correlation();
        if (!(correlation >= LowestCorrelation))
            return null;
        Matrix<double> cofactor = normal!.Cholesky().Solve(Matrix<double>.Build.DenseIdentity(Parameters));
        double uncertainty = Math.Max(Uncertainty(0), Uncertainty(1));
        return motion with { Gain = gain, Correlation = correlation, ShiftUncertaintyPx = uncertainty, Followed = true };

        // Patches whose shifts differ by more than their noise were moved by a codec, which moves many of them alike: they count as few.
        double Uncertainty(int column)
        {
            double common = _patchShifts.Scatter(_jacobian, column, _residual, _patch, 4.685 * scale, scale) / gain;
            return Math.Sqrt(
                (scale * scale * cofactor[column, column] / (gain * gain)) + (CommonShare * CommonShare * common * common)
                + (InterpolationSdPx * InterpolationSdPx));
        }
    }

    /// <summary>Adds what is known beforehand: a hand turns and approaches the camera, but hardly shears the picture. A ruler is long and narrow, so that
    /// the shear hangs on a few rows of blocks, which a codec shifts against each other.</summary>
    private static void HoldShear(Matrix<double> normal, Vector<double> right, in RulerMotion motion, double gain, double scale)
    {
        double information = (normal[0, 0] + normal[1, 1]) / 2;
        double weight = ((scale * scale) + (information * BlockShiftSdPx * BlockShiftSdPx)) / (ShearSd * ShearSd);
        Hold(2, 5, -1, motion.UU - motion.VV);
        Hold(3, 4, 1, motion.UV + motion.VU);

        void Hold(int a, int b, int sign, double value)
        {
            normal[a, a] += weight;
            normal[b, b] += weight;
            normal[a, b] += sign * weight;
            normal[b, a] += sign * weight;
            right[a] += weight * gain * value;
            right[b] += sign * weight * gain * value;
        }
    }

    private (Matrix<double> Normal, Vector<double> Right) NormalEquations(double scale)
    {
        double[] normal = new double[Parameters * Parameters], right = new double[Parameters];
        double limit = 4.685 * scale;
        for (int i = 0; i < _residual.Length; i++)
        {
            double e = _residual[i];
            if (!(Math.Abs(e) < limit))
                continue;
            double z = e / limit, w = (1 - z * z) * (1 - z * z);
            ReadOnlySpan<double> row = _jacobian.AsSpan(i * Parameters, Parameters);
            for (int j = 0; j < Parameters; j++)
            {
                double wj = w * row[j];
                right[j] += wj * e;
                for (int k = 0; k <= j; k++)
                    normal[j * Parameters + k] += wj * row[k];
            }
        }

        for (int j = 0; j < Parameters; j++)
        {
            for (int k = j + 1; k < Parameters; k++)
                normal[j * Parameters + k] = normal[k * Parameters + j];
        }

        return (Matrix<double>.Build.Dense(Parameters, Parameters, normal), Vector<double>.Build.Dense(right));
    }

    private readonly record struct Pixel(int U, int V, double GradientU, double GradientV, int Patch);

    // Pixels of a stretch of the ruler, with their gradients along it and across it.
    private sealed class Cell
    {
        public List<Pixel> Pixels { get; } = [];

        public List<double> Along { get; } = [];

        public List<double> Across { get; } = [];
    }

    /// <summary>How much the patches' own shifts differ from the common one.</summary>
    private sealed class PatchShifts
    {
        private readonly double[] _squares = new double[PatchesAlong * PatchesAcross], _products = new double[PatchesAlong * PatchesAcross];

        /// <summary>Standard deviation of the shifts, beyond what noise of the pixels explains; 0 where it explains all.</summary>
        public double Scatter(double[] jacobian, int column, double[] residual, int[] patch, double limit, double noise)
        {
            Array.Clear(_squares);
            Array.Clear(_products);
            for (int i = 0; i < residual.Length; i++)
            {
                double e = residual[i];
                if (!(Math.Abs(e) < limit))
                    continue;
                double z = e / limit, w = (1 - z * z) * (1 - z * z), j = jacobian[i * Parameters + column];
                _squares[patch[i]] += w * j * j;
                _products[patch[i]] += w * j * e;
            }

            double sum = 0, all = 0;
            for (int p = 0; p < _squares.Length; p++)
            {
                if (_squares[p] == 0)
                    continue;
                sum += (_products[p] * _products[p] / _squares[p]) - (noise * noise);
                all += _squares[p];
            }

            return all > 0 ? Math.Sqrt(Math.Max(0, sum / all)) : 0;
        }
    }

    /// <summary>Sums over the patches, for means and correlations within them.</summary>
    private sealed class PatchSums
    {
        private const int Patches = PatchesAlong * PatchesAcross;
        private readonly double[] _n = new double[Patches], _a = new double[Patches], _b = new double[Patches];
        private double _aa, _bb, _ab;

        public int Count { get; private set; }

        public void Clear()
        {
            Array.Clear(_n);
            Array.Clear(_a);
            Array.Clear(_b);
            (_aa, _bb, _ab, Count) = (0, 0, 0, 0);
        }

        public void Add(int patch, double a, double b)
        {
            _n[patch]++;
            _a[patch] += a;
            _b[patch] += b;
            _aa += a * a;
            _bb += b * b;
            _ab += a * b;
            Count++;
        }

        /// <summary>Correlation of the deviations from the patches' means.</summary>
        public double Correlation()
        {
            double aa = _aa, bb = _bb, ab = _ab;
            for (int p = 0; p < Patches; p++)
            {
                if (_n[p] == 0)
                    continue;
                aa -= _a[p] * _a[p] / _n[p];
                bb -= _b[p] * _b[p] / _n[p];
                ab -= _a[p] * _b[p] / _n[p];
            }

            return aa > 0 && bb > 0 ? ab / Math.Sqrt(aa * bb) : 0;
        }

        /// <summary>Subtracts from each finite value the mean of its patch.</summary>
        public void TakeOutMeans(double[] values, int[] patch)
        {
            Array.Clear(_n);
            Array.Clear(_a);
            for (int i = 0; i < values.Length; i++)
            {
                if (!double.IsFinite(values[i]))
                    continue;
                _n[patch[i]]++;
                _a[patch[i]] += values[i];
            }

            for (int p = 0; p < Patches; p++)
                _a[p] /= Math.Max(1, _n[p]);
            for (int i = 0; i < values.Length; i++)
                values[i] -= _a[patch[i]];
        }
    }
}
