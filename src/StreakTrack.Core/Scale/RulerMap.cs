using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Factorization;

namespace StreakTrack.Core.Scale;

/// <summary>The one-dimensional map between reading and place along the axis, and its least-squares fit.</summary>
/// <remarks>
/// Fitted from reading to place, because the places carry the scatter and the readings none. With m = (X - centre) / half range:
/// t = (q0 + q1 m) / (1 + q2 m), s = t + q3 h ((t - s0) / h)^3, h half the length of the marked piece in px. The scaled parameters keep
/// the normal equations well conditioned.
/// </remarks>
internal sealed class RulerMap
{
    private readonly double[] _q;
    private readonly double _centreMm, _halfRangeMm, _lensCentrePx, _halfSpanPx;

    private RulerMap(RulerModel model, double[] q, Frame frame)
    {
        Model = model;
        _q = q;
        (_centreMm, _halfRangeMm, _lensCentrePx, _halfSpanPx) = frame;
    }

    /// <summary>The fixed numbers that scale the parameters.</summary>
    internal readonly record struct Frame(double CentreMm, double HalfRangeMm, double LensCentrePx, double HalfSpanPx);

    public RulerModel Model { get; }

    public int ParameterCount => CountOf(Model);

    /// <summary>Inverse of the weighted normal matrix: the covariance for unit variance of a residual of weight 1.</summary>
    public Matrix<double> Cofactor { get; private init; } = Matrix<double>.Build.Dense(1, 1);

    /// <summary>Weighted sum of squared residuals.</summary>
    public double SumOfSquares { get; private init; }

    public static int CountOf(RulerModel model) => model switch
    {
        RulerModel.Linear => 2,
        RulerModel.Projective => 3,
        RulerModel.ProjectiveWithLens => 4,
        _ => throw new ArgumentOutOfRangeException(nameof(model), model, "Unknown map."),
    };

    /// <summary>Fits the map; null when the points do not determine it or it would fold back within the marked piece.</summary>
    /// <param name="model">The map.</param>
    /// <param name="placePx">Places along the axis.</param>
    /// <param name="readingMm">Readings.</param>
    /// <param name="weight">Weights of the squared residuals.</param>
    /// <param name="frame">The fixed numbers that scale the parameters.</param>
    /// <param name="start">A map of the same kind and frame to start from; null to start from the linearised problem.</param>
    public static RulerMap? Fit(RulerModel model, double[] placePx, double[] readingMm, double[] weight, Frame frame, RulerMap? start = null)
    {
        int n = placePx.Length, p = CountOf(model);
        if (n < p)
            return null;
        double[] q = start is null ? new double[4] : (double[])start._q.Clone();
        if (start is null && !TryStart(Math.Min(p, 3), placePx, readingMm, weight, frame, q))
            return null;

        RulerMap map = new(model, q, frame);
        double sum = map.Sum(placePx, readingMm, weight);
        for (int iteration = 0; iteration < 50; iteration++)
        {
            (Matrix<double> normal, Vector<double> right) = map.NormalEquations(placePx, readingMm, weight);
            if (TryFactorise(normal) is not { } factors)
                return null;
            Vector<double> step = factors.Solve(right);
            double[] trial = (double[])q.Clone();
            double trialSum = double.PositiveInfinity;
            RulerMap trialMap = map;
            // Halving keeps a start far off (one wrong reading) from running away.
            for (double part = 1; part > 1e-6 && !(trialSum <= sum * (1 + 1e-14) + 1e-30); part /= 2)
            {
                for (int j = 0; j < p; j++)
                    trial[j] = q[j] + part * step[j];
                trialMap = new RulerMap(model, (double[])trial.Clone(), frame);
                trialSum = trialMap.Sum(placePx, readingMm, weight);
            }

            if (!(trialSum <= sum * (1 + 1e-14) + 1e-30))
                break;
            bool done = step.InfinityNorm() <= 1e-12 * frame.HalfSpanPx;
            (q, map, sum) = (trialMap._q, trialMap, trialSum);
            if (done)
                break;
        }

        (Matrix<double> atEnd, _) = map.NormalEquations(placePx, readingMm, weight);
        if (TryFactorise(atEnd) is not { } endFactors)
            return null;
        Matrix<double> cofactor = endFactors.Solve(Matrix<double>.Build.DenseIdentity(p));
        map = new RulerMap(model, q, frame) { Cofactor = cofactor, SumOfSquares = sum };
        return map.RisesOverRange(readingMm.Min(), readingMm.Max()) ? map : null;
    }

    /// <summary>Place along the axis of a reading, in px; NaN beyond the vanishing point.</summary>
    public double PlaceOf(double readingMm)
    {
        double m = (readingMm - _centreMm) / _halfRangeMm, d = 1 + _q[2] * m;
        return d > 0 ? Bend((_q[0] + _q[1] * m) / d) : double.NaN;
    }

    /// <summary>Change of place with reading, in px/mm.</summary>
    public double PixelsPerMillimetre(double readingMm)
    {
        double m = (readingMm - _centreMm) / _halfRangeMm, d = 1 + _q[2] * m;
        double t = (_q[0] + _q[1] * m) / d;
        return (_q[1] - _q[0] * _q[2]) / (d * d) * BendSlope(t) / _halfRangeMm;
    }

    /// <summary>Reading at a place along the axis, in mm; NaN beyond the ruler's vanishing point and where the lens term turns back.</summary>
    public double ReadingAt(double placePx)
    {
        double t = Unbend(placePx);
        double d = _q[1] - _q[2] * t;
        // d has the sign of the slope on this side of the vanishing point; the slope is positive by the axis's sense.
        return d > 0 ? _centreMm + _halfRangeMm * (t - _q[0]) / d : double.NaN;
    }

    /// <summary>Derivatives of the place of a reading with respect to the parameters.</summary>
    public double[] PlaceGradient(double readingMm)
    {
        double[] gradient = new double[4];
        PlaceAndGradient(readingMm, gradient);
        return gradient[..ParameterCount];
    }

    /// <summary>Place of a reading and its derivatives, without allocating: <paramref name="gradient"/> takes all four.</summary>
    private double PlaceAndGradient(double readingMm, Span<double> gradient)
    {
        double m = (readingMm - _centreMm) / _halfRangeMm, d = 1 + _q[2] * m;
        double t = (_q[0] + _q[1] * m) / d, slope = BendSlope(t);
        double x = (t - _lensCentrePx) / _halfSpanPx;
        (gradient[0], gradient[1], gradient[2], gradient[3]) = (slope / d, slope * m / d, -slope * m * t / d, _halfSpanPx * x * x * x);
        return d > 0 ? Bend(t) : double.NaN;
    }

    /// <summary>Coefficients a, b, c, k of X = (a t + b) / (1 + c t), s = t + k (t - s0)^3.</summary>
    public double[] Coefficients() =>
    [
        (_halfRangeMm - _centreMm * _q[2]) / _q[1],
        _centreMm - _halfRangeMm * _q[0] / _q[1],
        -_q[2] / _q[1],
        _q[3] / (_halfSpanPx * _halfSpanPx),
    ];

    /// <summary>Derivatives of <see cref="Coefficients"/> with respect to the parameters, one row a coefficient.</summary>
    public Matrix<double> CoefficientJacobian()
    {
        double q1 = _q[1], q1Squared = q1 * q1;
        Matrix<double> full = Matrix<double>.Build.DenseOfArray(new[,]
        {
            { 0, -(_halfRangeMm - _centreMm * _q[2]) / q1Squared, -_centreMm / q1, 0 },
            { -_halfRangeMm / q1, _halfRangeMm * _q[0] / q1Squared, 0, 0 },
            { 0, _q[2] / q1Squared, -1 / q1, 0 },
            { 0, 0, 0, 1 / (_halfSpanPx * _halfSpanPx) },
        });
        return full.SubMatrix(0, 4, 0, ParameterCount);
    }

    private static Cholesky<double>? TryFactorise(Matrix<double> normal)
    {
        try
        {
            return normal.Cholesky();
        }
        catch (ArgumentException)
        {
            // Not positive definite, or not finite: the points do not determine this map.
            return null;
        }
    }

    private static bool TryStart(int p, double[] s, double[] x, double[] w, Frame frame, double[] q)
    {
        // t (1 + q2 m) = q0 + q1 m is linear in the parameters; its errors are not quite the right ones, which the iteration then mends.
        Matrix<double> a = Matrix<double>.Build.Dense(s.Length, p);
        Vector<double> b = Vector<double>.Build.Dense(s.Length);
        for (int i = 0; i < s.Length; i++)
        {
            double m = (x[i] - frame.CentreMm) / frame.HalfRangeMm, root = Math.Sqrt(w[i]);
            a[i, 0] = root;
            a[i, 1] = root * m;
            if (p > 2)
                a[i, 2] = -root * m * s[i];
            b[i] = root * s[i];
        }

        Vector<double> start = a.QR().Solve(b);
        for (int j = 0; j < p; j++)
        {
            if (!double.IsFinite(start[j]))
                return false;
            q[j] = start[j];
        }

        return true;
    }

    private double Sum(double[] s, double[] x, double[] w)
    {
        double sum = 0;
        for (int i = 0; i < s.Length; i++)
        {
            double e = s[i] - PlaceOf(x[i]);
            sum += w[i] * e * e;
        }

        return sum;
    }

    private (Matrix<double> Normal, Vector<double> Right) NormalEquations(double[] s, double[] x, double[] w)
    {
        int p = ParameterCount;
        Span<double> g = stackalloc double[4];
        double[] normal = new double[p * p], right = new double[p];
        for (int i = 0; i < s.Length; i++)
        {
            double e = s[i] - PlaceAndGradient(x[i], g);
            for (int j = 0; j < p; j++)
            {
                right[j] += w[i] * g[j] * e;
                for (int k = 0; k < p; k++)
                    normal[j * p + k] += w[i] * g[j] * g[k];
            }
        }

        return (Matrix<double>.Build.Dense(p, p, normal), Vector<double>.Build.Dense(right));
    }

    private bool RisesOverRange(double fromMm, double toMm)
    {
        for (int i = 0; i <= 32; i++)
        {
            double x = fromMm + (toMm - fromMm) * i / 32;
            if (!(1 + _q[2] * (x - _centreMm) / _halfRangeMm > 0 && PixelsPerMillimetre(x) > 0))
                return false;
        }

        return true;
    }

    private double Bend(double t)
    {
        double x = (t - _lensCentrePx) / _halfSpanPx;
        return t + _q[3] * _halfSpanPx * x * x * x;
    }

    private double BendSlope(double t)
    {
        double x = (t - _lensCentrePx) / _halfSpanPx;
        return 1 + 3 * _q[3] * x * x;
    }

    private double Unbend(double s)
    {
        if (_q[3] == 0)
            return s;
        // From t = s Newton's method runs monotonically to the root on the branch through the lens centre, for either sign of the term.
        double t = s;
        for (int i = 0; i < 60; i++)
        {
            double slope = BendSlope(t);
            if (!(slope > 0))
                return double.NaN;
            double step = (s - Bend(t)) / slope;
            t += step;
            if (Math.Abs(step) <= 1e-13 * (1 + Math.Abs(t)))
                return t;
        }

        return double.NaN;
    }
}
