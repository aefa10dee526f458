using MathNet.Numerics.Distributions;
using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.Random;

namespace StreakTrack.Core.Uncertainty;

/// <summary>Propagates the inputs' distributions through a measurement by the Monte Carlo method of JCGM 101:2008.</summary>
public static class MonteCarloPropagation
{
    /// <summary>Fewest trials in a batch of the adaptive procedure (JCGM 101:2008, 7.9.4 b).</summary>
    private const int MinBatch = 10_000;

    /// <summary>Fewest trials that can be asked for.</summary>
    private const int MinTrials = 1000;

    /// <summary>Propagates the distributions.</summary>
    /// <param name="model">The measurement.</param>
    /// <param name="options">Settings; null for the defaults.</param>
    /// <param name="cancellation">Stops the work between batches.</param>
    /// <exception cref="ArgumentException">
    /// An option is outside its range, the correlations contradict each other, or the function is not finite in a trial.
    /// </exception>
    public static MonteCarloResult Propagate(
        MeasurementModel model, MonteCarloOptions? options = null, CancellationToken cancellation = default)
    {
        MonteCarloOptions o = options ?? new MonteCarloOptions();
        if (!(o.CoverageProbability > 0 && o.CoverageProbability < 1))
            throw new ArgumentException("The coverage probability must lie between 0 and 1.", nameof(options));
        if (o.SignificantDigits is not (1 or 2))
            throw new ArgumentException("The significant digits must be 1 or 2.", nameof(options));
        if (o.Trials is < MinTrials)
            throw new ArgumentException($"At least {MinTrials} trials are needed.", nameof(options));
        if (o.MaxTrials < 2 * MinBatch)
            throw new ArgumentException($"At least {2 * MinBatch} trials must be allowed.", nameof(options));

        var sampler = new InputSampler(model, o.Seed);
        int batch = o.Trials is int trials
            ? Math.Min(trials, MinBatch)
            : Math.Max(MinBatch, (int)Math.Ceiling(100 / (1 - o.CoverageProbability)));
        int most = o.Trials ?? o.MaxTrials;
        var values = new List<double>(Math.Min(most, 10 * batch));
        var batches = new List<double[]>();
        bool settled = false;
        while (values.Count < most && !settled)
        {
            cancellation.ThrowIfCancellationRequested();
            int size = Math.Min(batch, most - values.Count);
            var fresh = new double[size];
            for (int i = 0; i < size; i++)
                fresh[i] = sampler.Trial();
            values.AddRange(fresh);
            if (o.Trials is null)
            {
                Array.Sort(fresh);
                (double mean, double deviation) = Moments(fresh);
                CoverageInterval interval = Symmetric(fresh, o.CoverageProbability);
                batches.Add([mean, deviation, interval.Low, interval.High]);
                settled = batches.Count > 1 && Settled(batches, o.SignificantDigits);
            }
        }

        double[] sorted = [.. values];
        Array.Sort(sorted);
        (double estimate, double uncertainty) = Moments(sorted);
        return new MonteCarloResult
        {
            Quantity = model.Quantity,
            Unit = model.Unit,
            Trials = sorted.Length,
            Seed = o.Seed,
            Settled = o.Trials is null ? settled : null,
            Estimate = estimate,
            StandardUncertainty = uncertainty,
            CoverageProbability = o.CoverageProbability,
            SymmetricInterval = Symmetric(sorted, o.CoverageProbability),
            ShortestInterval = Shortest(sorted, o.CoverageProbability),
        };
    }

    /// <summary>Half a unit in the last of the given significant digits of a standard uncertainty (JCGM 101:2008, 7.9.2).</summary>
    /// <param name="standardUncertainty">The standard uncertainty; 0 gives 0.</param>
    /// <param name="significantDigits">1 or 2.</param>
    internal static double NumericalTolerance(double standardUncertainty, int significantDigits)
    {
        if (!(standardUncertainty > 0))
            return 0;
        // Rounding can lift 0.0996 to 0.10: round first, then look at the exponent.
        double exponent = Math.Floor(Math.Log10(standardUncertainty));
        double unit = Math.Pow(10, exponent - (significantDigits - 1));
        if (Math.Round(standardUncertainty / unit) >= Math.Pow(10, significantDigits))
            unit *= 10;
        return unit / 2;
    }

    private static bool Settled(List<double[]> batches, int significantDigits)
    {
        double tolerance = NumericalTolerance(batches.Average(b => b[1]), significantDigits);
        for (int k = 0; k < 4; k++)
        {
            double mean = batches.Average(b => b[k]);
            double sum = batches.Sum(b => (b[k] - mean) * (b[k] - mean));
            double deviationOfMean = Math.Sqrt(sum / (batches.Count * (batches.Count - 1.0)));
            if (!(2 * deviationOfMean <= tolerance))
                return false;
        }

        return true;
    }

    private static (double Mean, double Deviation) Moments(double[] values)
    {
        double mean = values.Average();
        double sum = 0;
        foreach (double value in values)
            sum += (value - mean) * (value - mean);
        return (mean, Math.Sqrt(sum / (values.Length - 1)));
    }

    /// <summary>Number of trials that the interval spans (JCGM 101:2008, 7.7.1).</summary>
    private static int Span(int trials, double probability) => Math.Min(trials - 1, (int)Math.Round(probability * trials));

    private static CoverageInterval Symmetric(double[] sorted, double probability)
    {
        int span = Span(sorted.Length, probability);
        int first = (sorted.Length - span) / 2;
        return new CoverageInterval(sorted[first], sorted[Math.Min(first + span, sorted.Length - 1)]);
    }

    private static CoverageInterval Shortest(double[] sorted, double probability)
    {
        int span = Span(sorted.Length, probability);
        int best = 0;
        for (int first = 1; first + span < sorted.Length; first++)
        {
            if (sorted[first + span] - sorted[first] < sorted[best + span] - sorted[best])
                best = first;
        }

        return new CoverageInterval(sorted[best], sorted[best + span]);
    }

    /// <summary>Draws the inputs of one trial after another.</summary>
    private sealed class InputSampler
    {
        private readonly MeasurementModel _model;
        private readonly Xoshiro256StarStar _random;
        private readonly double[] _inputs;
        private readonly double[] _normals;
        private readonly (int[] Members, double[,]? Root, double DegreesOfFreedom)[] _groups;

        public InputSampler(MeasurementModel model, int seed)
        {
            _model = model;
            _random = new Xoshiro256StarStar(seed, threadSafe: false);
            _inputs = new double[model.Inputs.Count];
            _normals = new double[model.Inputs.Count];
            _groups =
            [
                .. model.Groups.Select(members => (members, members.Length > 1 ? Root(members) : null,
                    members.Min(i => model.Inputs[i].DegreesOfFreedom))),
            ];
        }

        public double Trial()
        {
            foreach ((int[] members, double[,]? root, double degrees) in _groups)
            {
                if (root is null)
                    DrawOne(members[0], degrees);
                else
                    DrawTogether(members, root, degrees);
            }

            double value = _model.Function(_inputs);
            return double.IsFinite(value)
                ? value
                : throw new ArgumentException(
                    $"The value of {_model.Quantity} is not finite in a trial; its inputs reach where it is not defined.");
        }

        private void DrawOne(int i, double degrees)
        {
            UncertaintyInput input = _model.Inputs[i];
            double unit = input.Distribution switch
            {
                InputDistribution.Rectangular => Math.Sqrt(3) * ((2 * _random.NextDouble()) - 1),
                InputDistribution.Triangular => Math.Sqrt(6) * (_random.NextDouble() - _random.NextDouble()),
                _ => Normal.Sample(_random, 0, 1) / Spread(degrees),
            };
            _inputs[i] = input.Estimate + (input.StandardUncertainty * unit);
        }

        private void DrawTogether(int[] members, double[,] root, double degrees)
        {
            for (int j = 0; j < members.Length; j++)
                _normals[j] = Normal.Sample(_random, 0, 1);
            double spread = Spread(degrees);
            for (int k = 0; k < members.Length; k++)
            {
                double unit = 0;
                for (int j = 0; j < members.Length; j++)
                    unit += root[k, j] * _normals[j];
                UncertaintyInput input = _model.Inputs[members[k]];
                _inputs[members[k]] = input.Estimate + (input.StandardUncertainty * unit / spread);
            }
        }

        /// <summary>Divisor that turns normal into t variates; 1 for infinite degrees of freedom.</summary>
        private double Spread(double degrees) =>
            double.IsPositiveInfinity(degrees) ? 1 : Math.Sqrt(Gamma.Sample(_random, degrees / 2, 0.5) / degrees);

        /// <summary>A matrix R with R R' equal to the correlation matrix of some inputs.</summary>
        private double[,] Root(int[] members)
        {
            Matrix<double> correlation = Matrix<double>.Build.Dense(
                members.Length, members.Length, (i, j) => _model.Correlation[members[i], members[j]]);
            // By eigenvalues and not by Cholesky: inputs that are fully correlated (r = 1) make the matrix singular, and that is allowed.
            var eigen = correlation.Evd(Symmetricity.Symmetric);
            if (eigen.EigenValues.Any(value => value.Real < -1e-9))
                throw new ArgumentException("The correlations contradict each other: their matrix is not positive semidefinite.");

            Vector<double> roots = eigen.EigenValues.Map(value => Math.Sqrt(Math.Max(0, value.Real)));
            return (eigen.EigenVectors * Matrix<double>.Build.DenseOfDiagonalVector(roots)).ToArray();
        }
    }
}
