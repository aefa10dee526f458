using MathNet.Numerics;
using MathNet.Numerics.Distributions;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>
/// Fits a straight line to points with uncertainties in both coordinates, in one of them, or in none (ordinary least squares).
/// </summary>
/// <remarks>
/// [York] York, Evensen, Lopez Martinez and De Basabe Delgado, Am. J. Phys. 72 (2004) 367: unified equations for slope, intercept and
/// standard
/// errors of the best straight line, in the maximum-likelihood sense. With exact x they are those of weighted least squares.
/// </remarks>
public static class StraightLineFitter
{
    private const int MinPoints = 3;
    private const int MaxIterations = 500;
    private const double SlopeTolerance = 1e-15;

    /// <summary>Below this probability a bend or a scatter is no accident.</summary>
    private const double SuspectProbability = 0.01;

    /// <summary>Fits the line.</summary>
    /// <param name="points">At least three points at two or more places.</param>
    /// <param name="options">Settings; null for the defaults.</param>
    /// <param name="subject">What messages call the data.</param>
    /// <exception cref="UnusableInputException">
    /// Too few points, all at one place, numbers that are not finite, uncertainties for some points only, or points that are exact in
    /// both
    /// coordinates.
    /// </exception>
    public static StraightLine Fit(IReadOnlyList<LinePoint> points, StraightLineOptions? options = null, string subject = "the points")
    {
        options ??= new StraightLineOptions();
        bool stated = Check(points, subject);
        int n = points.Count;
        // Without uncertainties every point counts alike: y uncertainty 1.
        double[] varianceX = [.. points.Select(p => stated ? p.XUncertainty * p.XUncertainty : 0)];
        double[] varianceY = [.. points.Select(p => stated ? p.YUncertainty * p.YUncertainty : 1)];
        double[] covariance = [.. points.Select(p => stated ? p.Correlation * p.XUncertainty * p.YUncertainty : 0)];
        var problem = new Problem(points, varianceX, varianceY, covariance, options.ThroughOrigin);
        Solution line = problem.Solve(subject);

        int dof = n - (options.ThroughOrigin ? 1 : 2);
        double[] residuals = [.. points.Select(p => p.Y - line.Intercept - (line.Slope * p.X))];
        double chiSquare = Enumerable.Range(0, n).Sum(i => line.Weights[i] * residuals[i] * residuals[i]);
        double probability = stated ? SpecialFunctions.GammaUpperRegularized(dof / 2.0, chiSquare / 2) : double.NaN;
        bool scaled = !stated || options.Scaling == UncertaintyScaling.Scaled
            || (options.Scaling == UncertaintyScaling.Auto && probability < CurveFit.ScatterBeyond);
        double scale = scaled ? chiSquare / dof : 1;

        double bend = options.ThroughOrigin || n < 4 ? double.NaN : BendProbability(points, line.Weights, residuals, chiSquare, scaled);
        var findings = new List<Finding>();
        if (stated && probability < SuspectProbability)
        {
            findings.Add(FindingKinds.ScatterExceedsUncertainty.With(
                $"The points scatter {Notation.Number(Math.Sqrt(chiSquare / dof), 2)} times as far about the line as their stated "
                + $"uncertainties allow (chi-square {Notation.Number(chiSquare, 3)} on {dof} degrees of freedom)."));
        }

        if (bend < SuspectProbability)
        {
            findings.Add(FindingKinds.LineNotStraight.With(
                $"A curve follows the points better than the straight line; a bend like this comes about by chance with a probability of "
                + $"{Notation.Number(bend, 2)}."));
        }

        return new StraightLine
        {
            Intercept = new UncertainValue(line.Intercept, Math.Sqrt(scale * line.VarianceIntercept)),
            Slope = new UncertainValue(line.Slope, Math.Sqrt(scale * line.VarianceSlope)),
            Covariance = scale * line.Covariance,
            Points = n,
            DegreesOfFreedom = dof,
            ChiSquare = chiSquare,
            HasUncertainties = stated,
            IsScaled = scaled,
            ChiSquareProbability = probability,
            BendProbability = bend,
            Residuals = residuals,
            StandardResiduals = [.. residuals.Select((r, i) => r * Math.Sqrt(line.Weights[i] / scale))],
            Findings = findings,
        };
    }

    /// <summary>Refuses unusable points; returns whether they carry uncertainties.</summary>
    private static bool Check(IReadOnlyList<LinePoint> points, string subject)
    {
        if (points.Count < MinPoints)
        {
            throw new UnusableInputException(subject, $"a straight line needs at least {MinPoints} points and there are {points.Count}",
                "Measure at more settings.");
        }

        int stated = 0;
        for (int i = 0; i < points.Count; i++)
        {
            LinePoint p = points[i];
            if (!Magnitude.IsUsable(p.X) || !Magnitude.IsUsable(p.Y))
                throw Bad(i, "a coordinate is missing or out of all range", "Leave the point out.");
            if (!(p.XUncertainty >= 0 && Magnitude.IsUsable(p.XUncertainty)) || p.YUncertainty < 0
                || !(double.IsNaN(p.YUncertainty) || Magnitude.IsUsable(p.YUncertainty)))
            {
                throw Bad(i, "a standard uncertainty is negative or out of all range", "State it as a positive number or leave it out.");
            }

            if (!(Math.Abs(p.Correlation) <= 1))
                throw Bad(i, "the correlation coefficient is not between -1 and 1", "Correct it or leave it out.");
            if (double.IsNaN(p.YUncertainty))
                continue;
            stated++;
            if (p.YUncertainty == 0 && p.XUncertainty == 0)
                throw Bad(i, "both coordinates are exact", "State an uncertainty for one of them, or none for all points.");
        }

        if (stated != 0 && stated != points.Count)
        {
            throw new UnusableInputException(subject, $"only {stated} of {points.Count} points have an uncertainty",
                "State one for every point or for none.");
        }

        if (stated == 0 && points.Any(p => p.XUncertainty > 0))
        {
            throw new UnusableInputException(subject, "the abscissas have uncertainties but the ordinates have none",
                "State the ordinates' uncertainties too.");
        }

        double middle = points.Average(p => p.X);
        double spread = points.Max(p => Math.Abs(p.X - middle));
        if (!(spread > 1e-12 * Math.Abs(middle)))
            throw new UnusableInputException(subject, "all points lie at one place", "Measure at different settings.");
        return stated > 0;

        UnusableInputException Bad(int i, string problem, string nextStep) => new($"{subject}, point {i + 1}", problem, nextStep);
    }

    /// <summary>Probability of so large an improvement by a quadratic term, with the line's weights.</summary>
    private static double BendProbability(
        IReadOnlyList<LinePoint> points, double[] weights, double[] residuals, double chiSquare, bool scaled)
    {
        // The part of x² that is orthogonal to 1 and x under the weights.
        int n = points.Count;
        double sum = weights.Sum();
        double mean = Weighted(i => points[i].X) / sum;
        double[] u = [.. points.Select(p => p.X - mean)];
        double uu = Weighted(i => u[i] * u[i]);
        double third = Weighted(i => u[i] * u[i] * u[i]) / uu;
        double[] bend = [.. u.Select(x => (x * x) - (third * x) - (uu / sum))];
        double norm = Weighted(i => bend[i] * bend[i]);
        if (!(norm > 1e-24 * uu * uu / sum))
            return double.NaN;

        double projection = Weighted(i => bend[i] * residuals[i]);
        double improvement = projection * projection / norm;
        if (!scaled)
            return SpecialFunctions.Erfc(Math.Sqrt(improvement / 2));
        double rest = Math.Max(0, chiSquare - improvement);
        // Residuals at the level of rounding: the line is as good as exact, whatever bends are left.
        double size = Weighted(i => points[i].Y * points[i].Y);
        if (chiSquare <= 1e-24 * size)
            return 1;
        return rest > 0 ? 1 - FisherSnedecor.CDF(1, n - 3, improvement / (rest / (n - 3))) : 0;

        double Weighted(Func<int, double> value) => Enumerable.Range(0, n).Sum(i => weights[i] * value(i));
    }

    private readonly record struct Solution(
        double Intercept, double Slope, double VarianceIntercept, double VarianceSlope, double Covariance, double[] Weights);

    /// <summary>The equations of [York]; its symbols in comments.</summary>
    private sealed class Problem(
        IReadOnlyList<LinePoint> points, double[] varianceX, double[] varianceY, double[] covariance, bool throughOrigin)
    {
        private readonly int _n = points.Count;
        private readonly double[] _weights = new double[points.Count];   // W
        private readonly double[] _offsets = new double[points.Count];   // beta: adjusted x minus mean X
        private double _meanX;
        private double _meanY;

        public Solution Solve(string subject)
        {
            // First guess: unweighted, or x on y where all y are exact.
            double slope = Iterate(StartingSlope());
            if (!double.IsFinite(slope))
                slope = Iterate(BestByDirection());
            if (!double.IsFinite(slope))
            {
                throw new UnusableInputException(subject, "no straight line through the points could be found",
                    "Check the uncertainties: those of the abscissas may be too large for the range covered.");
            }

            Prepare(slope);
            double intercept = throughOrigin ? 0 : _meanY - (slope * _meanX);
            double sum = _weights.Sum();
            double meanAdjusted = throughOrigin ? 0 : _meanX + (Sum(i => _weights[i] * _offsets[i]) / sum);
            double origin = throughOrigin ? 0 : _meanX;
            double varianceSlope = 1 / Sum(i =>
            {
                double u = origin + _offsets[i] - meanAdjusted;
                return _weights[i] * u * u;
            });
            return throughOrigin
                ? new Solution(0, slope, 0, varianceSlope, 0, _weights)
                : new Solution(intercept, slope, (1 / sum) + (meanAdjusted * meanAdjusted * varianceSlope), varianceSlope,
                    -meanAdjusted * varianceSlope, _weights);
        }

        private double StartingSlope()
        {
            double x = throughOrigin ? 0 : points.Average(p => p.X);
            double y = throughOrigin ? 0 : points.Average(p => p.Y);
            double xy = points.Sum(p => (p.X - x) * (p.Y - y));
            return varianceY.All(v => v == 0)
                ? points.Sum(p => (p.Y - y) * (p.Y - y)) / xy
                : xy / points.Sum(p => (p.X - x) * (p.X - x));
        }

        /// <summary>Fixed-point iteration for the slope; NaN when it does not settle.</summary>
        private double Iterate(double slope)
        {
            double before = double.NaN;
            for (int i = 0; i < MaxIterations && double.IsFinite(slope); i++)
            {
                Prepare(slope);
                double next = Sum(k => _weights[k] * _offsets[k] * (points[k].Y - _meanY))
                    / Sum(k => _weights[k] * _offsets[k] * (points[k].X - _meanX));
                // A pair of values that alternate in the last digit is as settled as it gets.
                if (Math.Abs(next - slope) <= SlopeTolerance * Math.Abs(next) || next == before)
                    return next;
                before = slope;
                slope = next;
            }

            return double.NaN;
        }

        /// <summary>The best slope on a fine grid of directions, for data on which the iteration from the plain slope runs off.</summary>
        private double BestByDirection()
        {
            double spreadX = Math.Sqrt(points.Sum(p => p.X * p.X));
            double spreadY = Math.Sqrt(points.Sum(p => p.Y * p.Y));
            double best = double.NaN;
            double least = double.PositiveInfinity;
            for (int k = 1; k < 2000; k++)
            {
                double slope = Math.Tan(Math.PI * ((k / 2000.0) - 0.5)) * spreadY / spreadX;
                Prepare(slope);
                double chiSquare = Sum(i => _weights[i] * Math.Pow(points[i].Y - _meanY - (slope * (points[i].X - _meanX)), 2));
                if (chiSquare < least)
                    (least, best) = (chiSquare, slope);
            }

            return best;
        }

        private void Prepare(double slope)
        {
            for (int i = 0; i < _n; i++)
                _weights[i] = 1 / (varianceY[i] + (slope * slope * varianceX[i]) - (2 * slope * covariance[i]));
            double sum = _weights.Sum();
            _meanX = throughOrigin ? 0 : Sum(i => _weights[i] * points[i].X) / sum;
            _meanY = throughOrigin ? 0 : Sum(i => _weights[i] * points[i].Y) / sum;
            for (int i = 0; i < _n; i++)
            {
                double u = points[i].X - _meanX;
                double v = points[i].Y - _meanY;
                _offsets[i] = _weights[i] * ((u * varianceY[i]) + (slope * v * varianceX[i]) - (((slope * u) + v) * covariance[i]));
            }
        }

        private double Sum(Func<int, double> value)
        {
            double sum = 0;
            for (int i = 0; i < _n; i++)
                sum += value(i);
            return sum;
        }
    }
}
