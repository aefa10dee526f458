using System.Globalization;
using MathNet.Numerics.Distributions;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Fitting;

/// <summary>Fits envelope models to a series of amplitudes.</summary>
public static class EnvelopeFitter
{
    /// <summary>Fewest usable points for a fit.</summary>
    public const int FewestPoints = 6;

    /// <summary>
    /// With more points than this, intervals are the estimate plus and minus Student's t times the standard uncertainty: so many
    /// points leave
    /// no curvature for a profile to show.
    /// </summary>
    public const int MaxProfilePoints = 20_000;

    private const double Level = 0.975;

    /// <summary>More than this share of amplitudes, below zero by more than this share of the largest, are no noise.</summary>
    private const double NegativeShare = 0.05;

    /// <summary>Levels that a motion with one change of the drive can keep: one before and one long after.</summary>
    private const int StretchesOfOneChange = 2;

    /// <summary>Levels named in a message.</summary>
    private const int MostNamed = 10;

    /// <summary>Beyond this many robust standard deviations a point is flagged; of independent normal noise one point in 150 000
    /// is.</summary>
    internal const double OutlierLimit = 4.5;

    /// <summary>Fits.</summary>
    /// <param name="data">The points.</param>
    /// <param name="options">Settings; null for the defaults.</param>
    /// <param name="cancellationToken">Ends the work with <see cref="OperationCanceledException"/>.</param>
    /// <returns>The fit. When the data allow none, its model is null and its findings say why.</returns>
    /// <exception cref="ArgumentException">The options name no model, or an empty window.</exception>
    public static EnvelopeFit Fit(EnvelopeData data, EnvelopeFitOptions? options = null, CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(data);
        options ??= new EnvelopeFitOptions();
        if (options.Model != EnvelopeFitOptions.AutomaticModel)
            _ = EnvelopeModels.FormsOf(options.Model);
        if (options.WindowStartSeconds >= options.WindowEndSeconds)
            throw new ArgumentException("The window ends before it begins.", nameof(options));
        if (options.SwitchTimeSeconds is double time && !double.IsFinite(time))
            throw new ArgumentException("The switch time is not finite.", nameof(options));

        PointSelection selection = PointSelection.Of(data, options);
        FitPoints points = selection.Points;
        if (points.Count < FewestPoints)
        {
            return Failed(data, selection, FindingKinds.TooFewPoints.With(string.Create(CultureInfo.InvariantCulture,
                $"{points.Count} of {data.Count} points are usable and inside the window{Reasons(selection.Uses)}; a fit needs at least {FewestPoints}.")));
        }

        double length = points.Times[^1] - points.Times[0];
        if (!(length > 0))
            return Failed(data, selection, FindingKinds.TooFewPoints.With("All points have the same time."));
        if (!ChangesAtAll(points, out Finding? still))
            return Failed(data, selection, still!);

        if (Negative(points) is Finding negative)
            return Failed(data, selection, negative);

        return new Run(data, options, selection, cancellationToken).Fit();
    }

    // Noise about rest goes below zero too, but not far.
    private static Finding? Negative(FitPoints points)
    {
        double limit = -NegativeShare * points.Amplitudes.Max(Math.Abs);
        int count = points.Amplitudes.Count(amplitude => amplitude < limit);
        return count <= NegativeShare * points.Count ? null : FindingKinds.NegativeAmplitudes.With(string.Create(CultureInfo.InvariantCulture,
            $"{count} of {points.Count} amplitudes lie below {limit:G3} mm."));
    }

    private static string Reasons(PointUse[] uses)
    {
        int unusable = uses.Count(use => use == PointUse.Unusable), outside = uses.Count(use => use == PointUse.OutsideWindow);
        string[] reasons =
        [
            .. unusable > 0 ? [Text($"{unusable} without a usable amplitude")] : (string[])[],
            .. outside > 0 ? [Text($"{outside} outside the window")] : (string[])[],
        ];
        return reasons.Length == 0 ? "" : $" ({string.Join(", ", reasons)})";

        static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
    }

    private static string Words(LeastSquaresStop? stop) => stop switch
    {
        LeastSquaresStop.TooManyIterations => "it still moved after all steps allowed",
        LeastSquaresStop.Singular => "the points do not tell its parameters apart",
        LeastSquaresStop.NoProgress => "such a curve fits best with a parameter beyond all bounds",
        LeastSquaresStop.InvalidStart or null => "no starting values were found in the data",
        _ => "it left the physical range",
    };

    private static bool ChangesAtAll(FitPoints points, out Finding? finding)
    {
        double lowest = points.Amplitudes.Min(), highest = points.Amplitudes.Max();
        bool changes = highest - lowest > 1e-9 * Math.Max(Math.Abs(lowest), Math.Abs(highest));
        finding = changes ? null : FindingKinds.NoChangeSeen.With(FindingSeverity.Error, string.Create(CultureInfo.InvariantCulture,
            $"All {points.Count} amplitudes are {lowest:G4} mm; there is nothing to fit."));
        return changes;
    }

    private static EnvelopeFit Failed(EnvelopeData data, PointSelection selection, Finding reason) => new()
    {
        Model = null,
        Points = PointsBeside(data, selection.Uses, null, null, null),
        PointCount = 0,
        Statement = "Nothing could be fitted.",
        Stop = LeastSquaresStop.InvalidStart,
        Findings = [reason, .. selection.Findings],
    };

    private static FittedPoint[] PointsBeside(
        EnvelopeData data, PointUse[] uses, EnvelopeFit? fit, Dictionary<int, double>? sigmas, Dictionary<int, double>? weights) =>
    [
        .. Enumerable.Range(0, data.Count).Select(i => new FittedPoint(
            data.Frames[i], data.TimesSeconds[i], data.AmplitudesMm[i], sigmas?.GetValueOrDefault(i, double.NaN) ?? double.NaN,
            fit?.Curve(data.TimesSeconds[i]) ?? double.NaN, uses[i], weights?.GetValueOrDefault(i, 0) ?? 0)),
    ];

    /// <summary>One fit under way.</summary>
    private sealed class Run(EnvelopeData data, EnvelopeFitOptions options, PointSelection selection, CancellationToken cancellationToken)
    {
        private readonly List<Finding> _findings = [.. selection.Findings];

        public EnvelopeFit Fit()
        {
            var search = new ModelSearch(selection.Points, options, cancellationToken);
            search.Run();
            double commonScatter = Weigh(search);
            List<EnvelopeCandidate> candidates = WithoutUnseenBeat(search.Candidates);
            EnvelopeCandidate? chosen = Choose(candidates);
            if (chosen is null || !chosen.Converged)
            {
                string model = chosen?.Model.Name ?? options.Model;
                return Failed(data, selection, SeveralChanges() ?? FindingKinds.NotConverged.With(
                    $"The fit of the model {model} did not come to rest at a minimum; {Words(chosen?.Result.Stop)}."));
            }

            if (chosen.Model is DetunedRiseModel)
            {
                EnvelopeCandidate transient = chosen.ByDetuning();
                if (transient.Converged)
                {
                    candidates[candidates.IndexOf(chosen)] = transient;
                    chosen = transient;
                }
            }

            foreach (int i in search.Transition)
                selection.Uses[selection.Points.Indices[i]] = PointUse.Transition;

            (EnvelopeCandidate plain, double[] weights) = Robust(chosen.Refit(chosen.Problem.WithCorrelation(0)));
            if (!plain.Converged || plain.Result.InverseGram is null)
            {
                return Failed(data, selection, FindingKinds.NotConverged.With(
                    $"The fit of the model {plain.Model.Name} was lost on the last steps."));
            }

            AutoregressiveNoise.Estimate noise = AutoregressiveNoise.Of(plain.Problem, plain.Full);
            bool correlated = noise.Correlation > 0 && options.Correlation switch
            {
                CorrelationTreatment.Auto => noise.IsSignificant,
                CorrelationTreatment.FirstOrder => true,
                _ => false,
            };
            if (options.SwitchTime == SwitchTimeSource.ChangePoint && options.SwitchTimeSeconds is null && search.FoundSwitch is null)
                _findings.Add(FindingKinds.SwitchNotFound.With("The series was taken to begin after the switch."));
            EnvelopeFit fit = Assemble(plain, correlated ? noise : null, candidates, weights, commonScatter, search.FoundSwitch);
            bool misses = fit.Findings.Any(finding => finding.Code == FindingKinds.ModelDoesNotFit.Code);
            return misses && SeveralChanges() is Finding several ? Failed(data, selection, several) : fit;
        }

        /// <summary>
        /// Where no curve follows the series and the amplitude comes to rest in three places or more, there is no single change whose
        /// decay time could be stated.
        /// </summary>
        private Finding? SeveralChanges()
        {
            IReadOnlyList<SteadyStretch> stretches = SteadyStretch.Find(selection.Points);
            return stretches.Count <= StretchesOfOneChange ? null : FindingKinds.SeveralDriveChanges.With(string.Create(CultureInfo.InvariantCulture,
                $"The amplitude comes to rest at least {stretches.Count} times, at {Listed(stretches)}; one change of the drive leaves at most two levels. No decay time is stated."));

            static string Listed(IReadOnlyList<SteadyStretch> stretches) =>
                string.Join(", ", stretches.Take(MostNamed).Select(s => string.Create(CultureInfo.InvariantCulture,
                    $"{s.LevelMm:F1} mm ({s.StartSeconds:F1} to {s.EndSeconds:F1} s)"))) + (stretches.Count > MostNamed ? ", …" : "");
        }

        /// <summary>
        /// The candidates without a transient whose detuning is not told from zero, once the resemblance of its residuals is allowed for,
        /// where another model leaves no more than the frames' own uncertainties explain.
        /// </summary>
        /// <remarks>
        /// Without the detuning the start's phase means nothing, and parameters that mean nothing under the simpler model gain more than
        /// the criterion charges for them: the slow course of an error that neighbouring frames share is enough to feed them, all the
        /// more as such errors are slower where the streak is short than one correlation for the whole series says.
        /// Davies, Biometrika 64 (1977) 247 (from memory), on parameters that exist under the alternative only.
        /// </remarks>
        private List<EnvelopeCandidate> WithoutUnseenBeat(IReadOnlyList<EnvelopeCandidate> candidates)
        {
            EnvelopeCandidate? general = candidates.FirstOrDefault(candidate => candidate.Model == TransientModel.General && candidate.Converged);
            EnvelopeCandidate? other = candidates.FirstOrDefault(
                candidate => candidate.Model is not TransientModel && candidate.Converged && !candidate.IsAtBound);
            return options.Model == EnvelopeFitOptions.AutomaticModel && general is not null && other is not null
                && IsExplained(other) && !ShowsBeat(general) ? [.. candidates.Where(candidate => candidate != general)] : [.. candidates];
        }

        private bool IsExplained(EnvelopeCandidate candidate)
        {
            double[] weights = new double[candidate.Problem.Points.Count];
            Array.Fill(weights, 1);
            int dof = weights.Length - candidate.Problem.Free.Count;
            return selection.HasUncertainties
                ? ReducedChiSquare(candidate, weights, dof) <= RangeOfReducedChiSquare(dof).High : !ModelSearch.MissBySize(candidate.Problem.StandardResiduals(candidate.Full));
        }

        private bool ShowsBeat(EnvelopeCandidate transient)
        {
            (EnvelopeCandidate plain, _) = Robust(transient.Refit(transient.Problem.WithCorrelation(0)));
            if (!plain.Converged || plain.Result.InverseGram is null)
                return false;
            int n = plain.Problem.Points.Count, detuning = plain.Problem.Free.ToList().IndexOf(TransientModel.DetuningIndex);
            AutoregressiveNoise.Estimate noise = AutoregressiveNoise.Of(plain.Problem, plain.Full);
            double u = Math.Sqrt(AutoregressiveNoise.Covariance(plain.Problem, plain.Full, plain.Result.InverseGram, noise)[detuning, detuning]);
            double dof = AutoregressiveNoise.EffectiveDegreesOfFreedom(n - plain.Problem.Free.Count, n, noise.Correlation);
            return Math.Abs(plain.Full[TransientModel.DetuningIndex]) > CoverageFactor.TwoSided(0.95, Math.Max(1, dof)) * u;
        }

        /// <summary>The model asked for; else the one with the fewest parameters among those that the criterion does not tell from the
        /// best.</summary>
        private EnvelopeCandidate? Choose(List<EnvelopeCandidate> candidates)
        {
            List<EnvelopeCandidate> eligible =
            [
                .. options.Model == EnvelopeFitOptions.AutomaticModel
                    ? candidates.Where(candidate => !candidate.IsAtBound)
                    : candidates.Where(candidate => candidate.Model.Name == options.Model),
            ];
            List<EnvelopeCandidate> converged = [.. eligible.Where(candidate => candidate.Converged)];
            double best = converged.Select(candidate => candidate.Aicc).DefaultIfEmpty().Min();

            // A motion that does not start from rest starts from another steady one, and then the evidence for it is overwhelming.
            EnvelopeCandidate? fromRest = converged.Find(candidate => candidate.Model == TransientModel.FromRest);
            if (fromRest is not null && fromRest.Aicc < best + FitStatement.Decisive)
                converged.RemoveAll(candidate => candidate.Model == TransientModel.General);
            double limit = converged.Select(candidate => candidate.Aicc).DefaultIfEmpty().Min() + FitStatement.Indistinct;
            return converged.Where(candidate => candidate.Aicc <= limit)
                .OrderBy(candidate => candidate.Problem.Free.Count).ThenBy(candidate => candidate.Aicc).FirstOrDefault()
                ?? (eligible.Count > 0 ? eligible[0] : null);
        }

        /// <summary>Gives the points of a search their weights.</summary>
        /// <returns>The scatter common to all points, in mm; NaN when all count alike.</returns>
        private double Weigh(ModelSearch search)
        {
            if (options.Weighting == PointWeighting.Equal || !selection.HasUncertainties)
                return double.NaN;

            // The scatter is taken about the best curve of the evenly weighted search; which curve that is hardly matters for its size.
            double scatter = 0;
            EnvelopeCandidate? best = search.Candidates.Count > 0 ? search.Candidates[0] : null;
            if (options.Weighting == PointWeighting.Auto && best is not null && best.Converged)
            {
                double[] residuals = best.Problem.StandardResiduals(best.Full);
                double[] uncertainties = [.. best.Problem.Points.Indices.Select(i => data.UncertaintiesMm[i])];
                scatter = CommonScatter.Of(residuals, uncertainties, residuals.Length - best.Problem.Free.Count);
            }

            search.Reweigh(selection.Points.WithSigmas([.. selection.Uncertainties.Select(u => Math.Sqrt(u * u + scatter * scatter))]));
            return scatter;
        }

        /// <summary>The robust loss by repeated weighting, when it is asked for or needed; the weights by position in the candidate's
        /// points.</summary>
        private (EnvelopeCandidate Candidate, double[] Weights) Robust(EnvelopeCandidate plain)
        {
            double[] weights = new double[plain.Problem.Points.Count];
            Array.Fill(weights, 1);
            double[] residuals = plain.Problem.StandardResiduals(plain.Full);
            double scale = RobustLoss.Scale(residuals);
            bool wanted = options.Loss == FitLoss.Robust
                || (options.Loss == FitLoss.Auto && Array.Exists(residuals, r => Math.Abs(r) > OutlierLimit * scale));
            return wanted ? RobustLoss.Minimize(plain, cancellationToken) : (plain, weights);
        }

        private EnvelopeFit Assemble(
            EnvelopeCandidate final, AutoregressiveNoise.Estimate? noise, List<EnvelopeCandidate> candidates, double[] weights,
            double commonScatter, ChangePoint? foundSwitch)
        {
            EnvelopeProblem problem = final.Problem;
            FitPoints points = problem.Points;
            int n = points.Count, p = problem.Free.Count, dof = n - p;
            double reducedChiSquare = ReducedChiSquare(final, weights, dof);
            bool scaled = Scaled(reducedChiSquare, dof, commonScatter);
            double variance = scaled ? final.Result.SumOfSquares / dof : 1;

            double phi = noise?.Correlation ?? 0;
            double effective = AutoregressiveNoise.EffectiveDegreesOfFreedom(dof, n, phi);
            double quantile = CoverageFactor.TwoSided(0.95, scaled ? Math.Max(1, effective) : double.PositiveInfinity);

            double[,] independent = final.Result.Covariance(variance);
            double[,] covariance = noise is null ? independent
                : AutoregressiveNoise.Covariance(
                    problem, final.Full, final.Result.InverseGram!, scaled ? noise : noise with { Variance = 1 });
            bool profile = options.ProfileIntervals && n <= MaxProfilePoints;
            FitParameter[] parameters =
            [
                .. problem.Model.Parameters.Append(new EnvelopeParameter(EnvelopeParameters.SwitchTime, "time of the switch"))
                    .Select((parameter, index) => Describe(parameter, index)),
            ];
            double[] residuals = problem.StandardResiduals(final.Full);

            bool split = problem.Before > 0;
            var fit = new EnvelopeFit
            {
                Model = problem.Model,
                Parameters = parameters,
                Covariance = covariance,
                FreeNames = [.. problem.Free.Select(index => parameters[index].Name)],
                PointCount = n,
                DegreesOfFreedom = dof,
                EffectiveDegreesOfFreedom = effective,
                ReducedChiSquare = reducedChiSquare,
                ReducedChiSquareRange95 = double.IsNaN(reducedChiSquare) ? (double.NaN, double.NaN) : RangeOfReducedChiSquare(dof),
                CommonScatterMm = commonScatter,
                CovarianceScaled = scaled,
                ResidualRmsMm = Math.Sqrt(Enumerable.Range(0, n).Sum(i => Square(points.Amplitudes[i] - problem.Curve(final.Full, i))) / n),
                Residuals = ResidualAnalysis.Of(residuals),
                NoiseCorrelation = phi,
                RobustLoss = Array.Exists(weights, weight => weight < 1),
                Rivals = RivalTable.Of(candidates),
                Candidates = candidates,
                Statement = "",
                Stop = final.Result.Stop,
                WindowStartSeconds = points.Times[0],
                WindowEndSeconds = points.Times[^1],
                SteadyPartSeen = split,
                FoundSwitch = foundSwitch,
                Problem = problem,
            };

            double scale = RobustLoss.Scale(residuals);
            var sigmas = new Dictionary<int, double>();
            var weightOf = new Dictionary<int, double>();
            for (int i = 0; i < n; i++)
            {
                if (!double.IsNaN(commonScatter))
                    sigmas[points.Indices[i]] = points.Sigmas[i] * Math.Sqrt(weights[i]);
                weightOf[points.Indices[i]] = weights[i];
                if (Math.Abs(residuals[i]) / Math.Sqrt(weights[i]) > OutlierLimit * scale && scale > 0)
                    selection.Uses[points.Indices[i]] = PointUse.Outlier;
            }

            fit = fit with
            {
                Points = PointsBeside(data, selection.Uses, fit, sigmas, weightOf),
                Statement = FitStatement.Of(fit, options.Model),
            };
            return fit with { Findings = [.. FitFindings.Of(fit), .. _findings] };

            FitParameter Describe(EnvelopeParameter parameter, int index)
            {
                int free = problem.Free.ToList().IndexOf(index);
                if (free < 0)
                {
                    return new FitParameter
                    {
                        Name = parameter.Name,
                        Meaning = parameter.Meaning,
                        Value = final.Full[index],
                        IsHeld = true,
                        IsAtBound = index < problem.Model.Parameters.Count,
                    };
                }

                double u = Math.Sqrt(covariance[free, free]), alone = Math.Sqrt(independent[free, free]);

                // Along the profile, independent noise would reach the end at the quantile; correlated noise reaches farther by u over
                // alone.
                (double lower, double upper) = profile
                    ? ProfileInterval.Find(
                        () => problem.ProfileOf(index, final.Full, final.Result.SumOfSquares, variance), final.Full[index], alone,
                        quantile * u / alone, parameter.LowerBound)
                    : (final.Full[index] - quantile * u, final.Full[index] + quantile * u);
                return new FitParameter
                {
                    Name = parameter.Name,
                    Meaning = parameter.Meaning,
                    Value = final.Full[index],
                    StandardUncertainty = u,
                    IndependentStandardUncertainty = alone,
                    Lower95 = lower,
                    Upper95 = upper,
                };
            }
        }

        private double ReducedChiSquare(EnvelopeCandidate final, double[] weights, int dof)
        {
            if (!selection.HasUncertainties)
                return double.NaN;
            FitPoints points = final.Problem.Points;
            double sum = 0;
            for (int i = 0; i < points.Count; i++)
            {
                double residual = points.Amplitudes[i] - final.Problem.Curve(final.Full, i);
                sum += weights[i] * Square(residual / data.UncertaintiesMm[points.Indices[i]]);
            }

            return sum / dof;
        }

        private bool Scaled(double reducedChiSquare, int dof, double commonScatter)
        {
            if (double.IsNaN(reducedChiSquare) || options.Weighting == PointWeighting.Equal || options.Scaling == UncertaintyScaling.Scaled)
                return true;
            if (options.Scaling == UncertaintyScaling.Absolute)
                return false;
            (double low, double high) = RangeOfReducedChiSquare(dof);
            bool fits = reducedChiSquare >= low && reducedChiSquare <= high;
            if (!fits)
            {
                string action = commonScatter > 0
                    ? $"a scatter of {commonScatter:G2} mm common to all frames was added to them"
                    : "only their ratios were used, and the size was taken from the residuals";

                // So large a factor is more than a misjudged noise: it may be the curve that misses the points.
                FindingSeverity severity = reducedChiSquare > FitFindings.LargestReducedChiSquare ? FindingSeverity.Warning : FindingSeverity.Info;
                _findings.Add(FindingKinds.UncertaintiesRescaled.With(severity, string.Create(CultureInfo.InvariantCulture,
                    $"Reduced chi-square with the frames' own uncertainties is {reducedChiSquare:G3} ({low:F2} to {high:F2} expected); ")
                    + action + "."));
            }

            return !fits || commonScatter > 0;
        }

        private static (double Low, double High) RangeOfReducedChiSquare(int dof) =>
            (ChiSquared.InvCDF(dof, 1 - Level) / dof, ChiSquared.InvCDF(dof, Level) / dof);

        private static double Square(double x) => x * x;
    }
}
