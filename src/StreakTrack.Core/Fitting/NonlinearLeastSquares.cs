using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Double;
using MathNet.Numerics.Optimization;

namespace StreakTrack.Core.Fitting;

/// <summary>Minimises a sum of squares: the one door to the optimiser.</summary>
/// <remarks>
/// A damped stage (the library's Levenberg-Marquardt, in parameters scaled by their effect and residuals scaled to unit length) brings the
/// parameters near a minimum; undamped Gauss-Newton steps by QR then reach it to full precision. Why it ended is decided afterwards from
/// the last undamped step alone, because the library's own reason can be wrong: it reports "too many iterations" for a run that converged
/// on its last allowed step, and "converged" where the sum of squares is merely small.
/// </remarks>
public static class NonlinearLeastSquares
{
    /// <summary>First damping of each attempt, relative to the largest diagonal element of the scaled J'J.</summary>
    private static readonly double[] InitialDampings = [1e-3, 1, 1e3];

    /// <summary>Smallest share of a sum of squares by which it is seen to fall; a sum of thousands of squares is rounded by less.</summary>
    private const double SmallestGain = 1e-12;

    /// <summary>Largest sum of squared derivatives, scaled to size 1 at the start, that is still of use: the square of its square is a number.</summary>
    private const double LargestSquares = 1e70;

    /// <summary>Minimises from a starting point.</summary>
    /// <param name="function">Residuals and derivatives.</param>
    /// <param name="residualCount">Number of residuals, at least the number of parameters.</param>
    /// <param name="start">Starting values; finite.</param>
    /// <param name="options">Settings; null for the defaults.</param>
    /// <param name="cancellationToken">Ends the work with <see cref="OperationCanceledException"/>.</param>
    /// <returns>The point reached and why the iteration ended there. It does not throw for want of convergence.</returns>
    /// <exception cref="ArgumentException">There are fewer residuals than parameters, or no parameter.</exception>
    public static LeastSquaresResult Minimize(
        ResidualFunction function, int residualCount, ReadOnlySpan<double> start, LeastSquaresOptions? options = null,
        CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(function);
        options ??= new LeastSquaresOptions();
        if (start.Length == 0 || residualCount < start.Length)
            throw new ArgumentException($"{residualCount} residuals cannot determine {start.Length} parameters.", nameof(residualCount));

        double[] origin = start.ToArray();
        var work = new Workspace(function, residualCount, origin.Length, options);
        if (!work.TryResiduals(origin, out double startSum))
            return Invalid(origin);
        if (!work.TryStep(origin))
            return Invalid(origin);

        LeastSquaresResult? best = null;
        int iterations = 0;
        foreach (double damping in InitialDampings.Take(options.MaxAttempts))
        {
            cancellationToken.ThrowIfCancellationRequested();
            (double[] reached, int used) = work.DampedStage(origin, startSum, damping, cancellationToken);
            LeastSquaresResult result = work.Polish(reached, used);
            iterations += result.Iterations;
            if (best is null || Better(result, best))
                best = result;
            if (result.Converged)
                break;
        }

        return best! with { Iterations = iterations };
    }

    /// <summary>Minimises from a point already close to the minimum: undamped steps only, and the full way when they fail.</summary>
    internal static LeastSquaresResult MinimizeNearby(
        ResidualFunction function, int residualCount, ReadOnlySpan<double> start, LeastSquaresOptions? options = null,
        CancellationToken cancellationToken = default)
    {
        options ??= new LeastSquaresOptions();
        double[] origin = start.ToArray();
        var work = new Workspace(function, residualCount, origin.Length, options);
        LeastSquaresResult result = work.Polish(origin, 0);
        return result.Converged ? result : Minimize(function, residualCount, start, options, cancellationToken);
    }

    private static bool Better(LeastSquaresResult a, LeastSquaresResult b) =>
        a.Converged != b.Converged ? a.Converged : a.SumOfSquares < b.SumOfSquares;

    private static LeastSquaresResult Invalid(double[] origin) => new()
    {
        Parameters = origin,
        SumOfSquares = double.NaN,
        Stop = LeastSquaresStop.InvalidStart,
        LastRelativeStep = double.NaN,
        Iterations = 0,
    };

    /// <summary>Buffers of one problem.</summary>
    private sealed class Workspace(ResidualFunction function, int rows, int columns, LeastSquaresOptions options)
    {
        private readonly double[] _residuals = new double[rows];
        private readonly double[] _jacobian = new double[rows * columns];
        private HouseholderQr? _qr;

        public bool TryResiduals(ReadOnlySpan<double> parameters, out double sum)
        {
            sum = double.NaN;
            if (!function(parameters, _residuals, []))
                return false;
            sum = 0;
            foreach (double r in _residuals)
                sum += r * r;
            return double.IsFinite(sum);
        }

        /// <summary>Decomposes the Jacobian at a point.</summary>
        public bool TryStep(ReadOnlySpan<double> parameters)
        {
            if (!function(parameters, _residuals, _jacobian))
                return false;
            foreach (double d in _jacobian)
            {
                if (!double.IsFinite(d))
                    return false;
            }

            _qr = new HouseholderQr(_jacobian, _residuals, columns);
            return true;
        }

        /// <summary>The library's Levenberg-Marquardt.</summary>
        public (double[] Reached, int Iterations) DampedStage(
            double[] origin, double startSum, double damping, CancellationToken cancellationToken)
        {
            // The library damps all parameters alike and compares sums of squares with absolute numbers, so both are brought to size 1.
            double[] scale = new double[columns];
            for (int j = 0; j < columns; j++)
                scale[j] = _qr!.ColumnNorms[j] > 0 ? Math.Sqrt(startSum) / _qr.ColumnNorms[j] : Math.Max(Math.Abs(origin[j]), 1);
            if (startSum == 0)
                return (origin, 0);
            double unit = 1 / Math.Sqrt(startSum);

            double[] best = origin;
            double bestSum = startSum;
            Vector<double> Unscale(Vector<double> q)
            {
                cancellationToken.ThrowIfCancellationRequested();
                return DenseVector.Create(columns, j => q[j] * scale[j]);
            }

            Vector<double> Model(Vector<double> q, Vector<double> x)
            {
                double[] p = Unscale(q).AsArray();
                double[] r = new double[rows];
                double sum = 0;
                bool defined = function(p, r, []);
                for (int i = 0; i < rows; i++)
                {
                    r[i] *= unit;
                    sum += r[i] * r[i];
                }

                // A finite wall instead of NaN, on which the library gives up: it then merely shortens the step.
                if (!defined || !double.IsFinite(sum))
                    return DenseVector.Create(rows, 1e100);
                if (sum * startSum < bestSum)
                {
                    bestSum = sum * startSum;
                    best = p;
                }

                return new DenseVector(r);
            }

            Matrix<double> Derivative(Vector<double> q, Vector<double> x)
            {
                double[] jacobian = new double[rows * columns];
                if (!function(Unscale(q).AsArray(), new double[rows], jacobian))
                    return DenseMatrix.Create(rows, columns, 0);
                for (int j = 0; j < columns; j++)
                {
                    for (int i = 0; i < rows; i++)
                        jacobian[j * rows + i] *= scale[j] * unit;
                }

                // In the end the library takes J'J apart into singular values, which never ends where squares of its elements are too large for a number.
                if (!(SumOfSquares(jacobian) < LargestSquares))
                    throw new ArithmeticException("The derivatives are beyond all bounds here.");
                return new DenseMatrix(rows, columns, jacobian);
            }

            Vector<double> zeros = DenseVector.Create(rows, 0);
            IObjectiveModel objective = ObjectiveFunction.NonlinearModel(Model, Derivative, zeros, zeros);
            double tolerance = options.DampedTolerance;
            var minimizer = new LevenbergMarquardtMinimizer(damping, tolerance, tolerance, 0, options.MaxIterations);
            int used;
            try
            {
                used = minimizer.FindMinimum(objective, DenseVector.Create(columns, j => origin[j] / scale[j])).Iterations;
            }
            catch (Exception e) when (e is ArithmeticException or ArgumentException or MathNet.Numerics.NonConvergenceException)
            {
                used = options.MaxIterations;
            }

            return (best, used);
        }

        private static double SumOfSquares(double[] values)
        {
            double sum = 0;
            foreach (double value in values)
                sum += value * value;
            return sum;
        }

        /// <summary>Undamped steps while they shrink, and the verdict.</summary>
        public LeastSquaresResult Polish(double[] start, int iterationsBefore)
        {
            double[] p = start;
            if (!TryResiduals(p, out double sum) || !TryStep(p))
                return Invalid(start);

            double last = double.PositiveInfinity;
            int steps = 0;
            bool exhausted = false;
            bool stuck = false;
            while (true)
            {
                if (_qr!.ReciprocalCondition() < options.RankTolerance)
                    return Result(LeastSquaresStop.Singular, null);

                double[] step = _qr.Solve();
                double relative = RelativeStep(step, p, sum);
                if (relative >= last && relative < 1e-9)
                    break;
                last = relative;
                if (relative < 1e-15)
                    break;
                if (steps == options.MaxPolishSteps)
                {
                    exhausted = true;
                    break;
                }

                if (!TryMove(step, relative, ref p, ref sum))
                {
                    stuck = relative > options.StepTolerance;
                    break;
                }

                steps++;
                if (!TryStep(p))
                    return Invalid(start);
            }

            LeastSquaresStop stop = last <= options.StepTolerance ? LeastSquaresStop.Converged
                : exhausted ? LeastSquaresStop.TooManyIterations
                : stuck ? LeastSquaresStop.NoProgress
                : LeastSquaresStop.TooManyIterations;
            return Result(stop, _qr!.InverseGram());

            LeastSquaresResult Result(LeastSquaresStop reason, double[,]? inverse) => new()
            {
                Parameters = p,
                SumOfSquares = sum,
                InverseGram = inverse,
                Stop = reason,
                LastRelativeStep = last,
                Iterations = iterationsBefore + steps,
            };
        }

        private bool TryMove(double[] step, double relative, ref double[] p, ref double sum)
        {
            double gain = 0;
            foreach (double part in _qr!.RotatedRightHandSide)
                gain += part * part;

            // Steps that gain less than the rounding error of the sum, as those below a part in 1e7 do, are judged by their own length alone: a
            // parameter near zero makes long steps of them.
            bool lost = relative < 1e-7 || gain < SmallestGain * sum;
            double length = 1;
            for (int halving = 0; halving <= options.MaxHalvings; halving++, length /= 2)
            {
                double[] candidate = new double[columns];
                for (int j = 0; j < columns; j++)
                    candidate[j] = p[j] - length * step[j];

                if (TryResiduals(candidate, out double candidateSum) && candidateSum <= (lost ? sum * (1 + 1e-10) : sum))
                {
                    p = candidate;
                    sum = candidateSum;
                    return true;
                }
            }

            return false;
        }

        private double RelativeStep(double[] step, double[] p, double sum)
        {
            double sigma = rows > columns ? Math.Sqrt(sum / (rows - columns)) : 0;
            double[,] inverse = _qr!.InverseGram();
            double largest = 0;
            for (int j = 0; j < columns; j++)
            {
                double size = Math.Max(Math.Abs(p[j]), sigma * Math.Sqrt(inverse[j, j]));
                largest = Math.Max(largest, size > 0 ? Math.Abs(step[j]) / size : step[j] == 0 ? 0 : double.PositiveInfinity);
            }

            return largest;
        }
    }
}
