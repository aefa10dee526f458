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

    private readonly double _reachPx;
    private readonly PicturePoint _centre;
    private readonly int[] _u, _v, _patch;
    private readonly double[] _value;
    private readonly double[] _jacobian;
    private readonly int[] _coarse;
    private readonly double[] _sample, _residual, _sorted;
    private readonly PatchSums _patchSums = new();
    private RulerMotion _last;
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
        _last = new RulerMotion(_centre, 0, 0, 0, 0, 0, 0, 1, 1, 0, true);

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
    /// <returns>Its motion since the reference picture.</returns>
    public RulerMotion Follow(RulerPicture frame)
    {
        ArgumentNullException.ThrowIfNull(frame);
        RulerMotion? found = null;
        if (!_lost)
            found = Refine(frame, Coarse(frame, _reachPx));
        if (found is null)
            found = Refine(frame, Coarse(frame, 4 * _reachPx));
        _lost = found is null;
        if (found is { } motion)
            _last = motion;
        return _lost ? _last with { Followed = false, Correlation = 0 } : _last;
    }

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

    /// <summary>The whole-pixel shift near the last one that correlates best; null when none does.</summary>
    private RulerMotion? Coarse(RulerPicture frame, double reachPx)
    {
        int reach = (int)reachPx;
        (double best, int bestU, int bestV) = (double.NegativeInfinity, 0, 0);
        Span<int> atU = stackalloc int[_coarse.Length], atV = stackalloc int[_coarse.Length];
        for (int k = 0; k < _coarse.Length; k++)
        {
            PicturePoint point = _last.ToFrame(new PicturePoint(_u[_coarse[k]], _v[_coarse[k]]));
            (atU[k], atV[k]) = ((int)Math.Round(point.UPx), (int)Math.Round(point.VPx));
        }

        // A ruler that hardly moved needs no search.
        if (Correlate(frame, atU, atV, 0, 0) > StillCorrelation)
            return _last;
        for (int dv = -reach; dv <= reach; dv++)
        {
            for (int du = -reach; du <= reach; du++)
            {
                double score = Correlate(frame, atU, atV, du, dv);
                if (score > best)
                    (best, bestU, bestV) = (score, du, dv);
            }
        }

        return best > 0.5 * LowestCorrelation
            ? _last with { ShiftUPx = _last.ShiftUPx + bestU, ShiftVPx = _last.ShiftVPx + bestV }
            : null;
    }

    private double Correlate(RulerPicture frame, ReadOnlySpan<int> atU, ReadOnlySpan<int> atV, int du, int dv)
    {
        _patchSums.Clear();
        for (int k = 0; k < atU.Length; k++)
        {
            int u = atU[k] + du, v = atV[k] + dv;
            if (frame.Holds(u, v))
                _patchSums.Add(_patch[_coarse[k]], _value[_coarse[k]], frame[u, v]);
        }

        return _patchSums.Count > atU.Length / 2 ? _patchSums.Correlation() : double.NegativeInfinity;
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
        double uncertainty = scale / Math.Abs(gain) * Math.Sqrt(Math.Max(cofactor[0, 0], cofactor[1, 1]));
        return motion with { Gain = gain, Correlation = correlation, ShiftUncertaintyPx = uncertainty, Followed = true };
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
