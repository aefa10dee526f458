using System.Globalization;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>Finds resonance frequency and quality factor from a clip in which the drive is stepped through resonance.</summary>
/// <remarks>
/// The motion is fitted as a whole (<see cref="SweepEnvelope"/>), settling included, so that steps shorter than the decay time are of use as
/// well. Resonance frequency and decay time come from the width of the resonance, from the beats after each step and from how these die away at once.
/// </remarks>
public static class SteppedSweepStudies
{
    private const double Level = 0.95;

    /// <summary>Starts from which the sum of squares is minimised.</summary>
    private const int Starts = 5;

    /// <summary>No amplitude is taken to scatter less than this share of the largest one when misfits and strays are looked for.</summary>
    private const double SmallestScatterShare = 1e-4;

    /// <summary>How often the points are divided anew among the steps when the fit has moved these.</summary>
    private const int MostDivisions = 5;

    /// <summary>Residuals this many times larger than their scatter from point to point hold more than noise.</summary>
    private const double MisfitRatio = 5;

    /// <summary>Residuals this many times larger than their scatter from point to point end the search for a better minimum.</summary>
    private const double EnoughRatio = 2;

    /// <summary>Residuals of this share of the largest amplitude are remarked on; of the second share, no number is of use.</summary>
    private const double NoticeableShare = 0.01, UselessShare = 0.05;

    /// <summary>
    /// Standard uncertainty of the steps' times in the table, in s. They are fitted about the nominal ones, after a common shift; where the series
    /// does not show a step, this holds it.
    /// </summary>
    private const double StepTimeUncertaintySeconds = 0.1;

    /// <summary>Part of a step's steady amplitude that the transient may still have at its end before the step counts as unsettled.</summary>
    private const double SettledShare = 0.01;

    /// <summary>A step this far from its nominal time is remarked on, in standard uncertainties of the nominal times.</summary>
    private const double LateSteps = 3;

    /// <summary>Runs the study.</summary>
    /// <param name="data">The points of the series.</param>
    /// <param name="steps">The drive's steps; those that begin after the last point are left out.</param>
    /// <param name="options">Settings; null for the defaults.</param>
    /// <param name="subject">What messages call the data.</param>
    /// <param name="cancellationToken">Ends the work.</param>
    /// <exception cref="UnusableInputException">The steps make no sweep, or no motion under such a drive follows the points.</exception>
    /// <exception cref="ArgumentException">An option is out of its range.</exception>
    public static SteppedSweepStudy Run(
        EnvelopeData data, IReadOnlyList<DriveStep> steps, SteppedSweepOptions? options = null, string subject = "the series",
        CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(data);
        options ??= new SteppedSweepOptions();
        if (options.Response == ResponseModel.PowerLorentzian)
            throw new ArgumentException("The response is that of an amplitude.", nameof(options));
        if (!(options.OffsetUncertaintyMm >= 0))
            throw new ArgumentException("An uncertainty is negative.", nameof(options));
        DriveTable.Check(steps, subject);
        PointSelection selection = PointSelection.Of(data, new EnvelopeFitOptions
        {
            WindowStartSeconds = Math.Max(options.WindowStartSeconds ?? double.NegativeInfinity, steps[0].StartSeconds),
            WindowEndSeconds = options.WindowEndSeconds,
        });
        FitPoints points = selection.Points;
        DriveStep[] seen = [.. steps.Where(step => points.Count > 0 && step.StartSeconds < points.Times[^1])];

        // A step that was over before the first point says nothing but how the motion began, which is fitted.
        int past = Enumerable.Range(1, Math.Max(0, seen.Length - 1)).LastOrDefault(k => seen[k].StartSeconds <= points.Times[0]);
        seen = seen[past..];
        if (seen.Length < DriveTable.FewestSteps || points.Count < 3 * (seen.Length + 4))
        {
            throw new UnusableInputException(subject,
                $"{points.Count} usable points lie in {seen.Length} of the {steps.Count} drive steps, which is too little for a sweep",
                "Check the times in the drive table against the clip; film every step for a few seconds.");
        }

        if (selection.HasUncertainties)
            points = points.WithSigmas(selection.Uncertainties);
        var run = new Work(data, seen, points, selection, options, subject, cancellationToken);
        SteppedSweepStudy study = run.Study();
        return seen.Length == steps.Count ? study : study with
        {
            Findings = [FindingKinds.StepsOutsideClip.With(
                $"{steps.Count - seen.Length} of {steps.Count} steps of the table lie outside the series and were left out."), .. study.Findings],
        };
    }

    /// <summary>A fit with what produced it.</summary>
    private sealed record Solution(SweepProblem Problem, double[] Full, LeastSquaresResult Result)
    {
        public double RmsMm { get; } = Rms(Problem.ResidualsMm(Full));
    }

    /// <summary>One study under way.</summary>
    private sealed class Work(
        EnvelopeData data, DriveStep[] steps, FitPoints points, PointSelection selection, SteppedSweepOptions options, string subject, CancellationToken cancellationToken)
    {
        private readonly double _largest = points.Amplitudes.Max();
        private readonly double _scatter = Math.Max(LocalScatter.Of(points.Amplitudes), SmallestScatterShare * points.Amplitudes.Max());
        private readonly List<Finding> _findings = [.. selection.Findings];
        private FitPoints _points = points;

        public SteppedSweepStudy Study()
        {
            ResponseModel first = options.Response ?? ResponseModel.Exact;
            ResponseModel second = first == ResponseModel.Exact ? ResponseModel.Lorentzian : ResponseModel.Exact;
            Solution best = Weighted(Best(first) ?? throw new UnusableInputException(subject,
                "no motion under such a drive follows the amplitudes", "Check frequencies and times in the drive table."));
            Solution? other = Solve(second, best);
            SweepFit fit = Describe(best);

            // Criteria are comparable when they are made with one correlation: that of the first shape.
            double correlation = fit.NoiseCorrelation;
            SweepFit? otherFit = other is null ? null : Describe(other, correlation);
            if (options.Response is null && otherFit is not null && otherFit.Aicc < fit.Aicc - FitStatement.Decisive)
            {
                best = other!;
                (fit, otherFit) = (otherFit, fit);
            }

            (IReadOnlyList<SweepPlateau> plateaus, double levelsAicc) = Plateaus(best, fit, correlation);
            Judge(best, fit, plateaus, levelsAicc);
            StudyParameter f0 = fit.Parameter("f0_hz"), q = fit.Parameter("q");
            string statement = $"Resonance at {Notation.Concise(f0.Value, "Hz")} (undamped) with a quality factor of {Notation.Concise(q.Value)}, from "
                + $"{plateaus.Count} steps fitted as one motion; decay time {Notation.Concise(fit.Parameter("tau_s").Value, "s")}.";
            return new SteppedSweepStudy(fit, otherFit, plateaus, statement, [.. _findings.OrderByDescending(f => f.Severity)]);
        }

        /// <summary>The best fit of one shape, with the drive's phase running on unless jumps follow the points decidedly better.</summary>
        private Solution? Best(ResponseModel response)
        {
            Solution? running = FromSeeds(response, jumps: false);
            if (running is not null && !Misses(running))
                return running;
            Solution? jumping = FromSeeds(response, jumps: true);
            if (running is null || jumping is null)
                return running ?? jumping;
            return Criterion(jumping, 0) < Criterion(running, 0) - FitStatement.Decisive ? jumping : running;
        }

        private bool Misses(Solution solution) => solution.RmsMm > MisfitRatio * _scatter;

        private Solution? FromSeeds(ResponseModel response, bool jumps)
        {
            Solution? best = null;
            var envelope = new SweepEnvelope(steps, _points.Times[0], response, freeLevels: false, jumps);
            foreach (SweepSeeds.Seed seed in new SweepSeeds(steps, _points).Find(jumps, Starts, cancellationToken))
            {
                double[] start = new double[envelope.ParameterCount];
                start[SweepEnvelope.FreeFrequency] = seed.FrequencyHz - envelope.MeanDriveHz;
                start[SweepEnvelope.Tau] = seed.TauSeconds;
                start[envelope.Levels] = seed.LevelMm;
                for (int k = 1; k < steps.Length; k++)
                {
                    start[envelope.Times + k - 1] = seed.ShiftSeconds;
                    if (jumps)
                        start[envelope.Jumps + k - 1] = seed.JumpsRadians[k - 1];
                }

                Solution? found = Solve(envelope, start, seed.ShiftSeconds);
                if (found is not null && (best is null || found.Result.SumOfSquares < best.Result.SumOfSquares))
                    best = found;

                // What follows the points to their scatter needs no rival.
                if (best is not null && best.RmsMm < EnoughRatio * _scatter)
                    break;
            }

            return best;
        }

        /// <summary>The fit with another shape, from where a fit ended.</summary>
        private Solution? Solve(ResponseModel response, Solution from)
        {
            var envelope = new SweepEnvelope(steps, _points.Times[0], response, freeLevels: false, from.Problem.Envelope.PhaseJumps);
            return Solve(envelope, from.Full, ShiftOf(from));
        }

        private Solution? Solve(SweepEnvelope envelope, double[] start, double shift)
        {
            var expected = new List<(int, double, double)>
            {
                (SweepEnvelope.Start, 0, 2 * _largest), (SweepEnvelope.Start + 1, 0, 2 * _largest),
            };
            for (int k = 1; k < steps.Length; k++)
                expected.Add((envelope.Times + k - 1, shift, StepTimeUncertaintySeconds));
            for (int k = 0; k < steps.Length && envelope.FreeLevels; k++)
                expected.Add((envelope.Levels + k, start[envelope.Levels + k], _largest / 2));
            var problem = new SweepProblem(envelope, _points, envelope.Divide(start, _points.Times), [.. expected]);
            LeastSquaresResult result = problem.Solve(start, isNear: false, cancellationToken);

            // A jump of the phase and a shift of the step's time do nearly the same, so the way along the valley can be long.
            if (result.Stop == LeastSquaresStop.TooManyIterations && envelope.PhaseJumps)
                result = problem.Solve(result.Parameters, isNear: false, cancellationToken);
            for (int round = 0; round < MostDivisions && result.Converged && !problem.IsDividedBy(result.Parameters, out int[] firsts); round++)
            {
                problem = problem.Divided(firsts);
                result = problem.Solve(result.Parameters, isNear: true, cancellationToken);
            }

            return result.Converged && result.InverseGram is not null ? new Solution(problem, result.Parameters, result) : null;
        }

        /// <summary>Weights for the points: their own uncertainties with the scatter that they share, and less for strays.</summary>
        private Solution Weighted(Solution solution)
        {
            double[] own = selection.HasUncertainties ? _points.Sigmas : [.. _points.Sigmas.Select(_ => 0.0)];
            int dof = _points.Count - solution.Problem.Envelope.ParameterCount;
            bool strayed = false;
            int strays = 0;
            for (int round = 0; round < 6; round++)
            {
                double[] residuals = solution.Problem.ResidualsMm(solution.Full);
                double[] sizes = [.. residuals.Select(Math.Abs).Order()];
                double scale = Math.Max(1.4826 * sizes[sizes.Length / 2], SmallestScatterShare * _largest);
                bool[] far = [.. residuals.Select(r => Math.Abs(r) > EnvelopeFitter.OutlierLimit * scale)];
                strays = far.Count(f => f);
                strayed |= strays > 0;
                double[] near = strayed ? [.. residuals.Where((_, i) => !far[i])] : residuals;
                double scatter = CommonScatter.Of(near, strayed ? [.. own.Where((_, i) => !far[i])] : own, Math.Max(1, dof));
                _points = _points.WithSigmas(
                    [.. residuals.Select((r, i) => Math.Sqrt((own[i] * own[i]) + (scatter * scatter))
                        * (strayed ? Math.Max(1, Math.Abs(r) / (RobustLoss.Knee * scale)) : 1))],
                    [.. far]);
                Solution? again = Solve(solution.Problem.Envelope, solution.Full, ShiftOf(solution));
                if (again is null)
                    break;
                bool done = !strayed || Math.Abs(again.Result.SumOfSquares - solution.Result.SumOfSquares) < 1e-6 * solution.Result.SumOfSquares;
                solution = again;
                if (done)
                    break;
            }

            if (strayed)
            {
                _findings.Add(FindingKinds.Outliers.With(
                    $"{strays} of {_points.Count} points lie far off the curve; they were kept, with less weight the farther off they are."));
            }

            return solution;
        }

        /// <summary>The common shift of the steps' times that a fit was expected to show: the median of what it does show.</summary>
        private double ShiftOf(Solution solution)
        {
            double[] shifts = [.. solution.Full.AsSpan(solution.Problem.Envelope.Times, steps.Length - 1).ToArray().Order()];
            return shifts[shifts.Length / 2];
        }

        private double Criterion(Solution solution, double correlation)
        {
            double[] residuals = solution.Problem.ResidualsMm(solution.Full);
            double sum = residuals.Select((r, i) => r * r / (_points.Sigmas[i] * _points.Sigmas[i])).Sum();

            // Of a variance estimated from points with this correlation, so many count.
            double n = residuals.Length * (1 - correlation) / (1 + correlation), k = solution.Problem.Envelope.ParameterCount + 1;
            return n > k + 1 ? (n * Math.Log(sum / residuals.Length)) + (2 * k) + (2 * k * (k + 1) / (n - k - 1)) : double.PositiveInfinity;
        }

        private SweepFit Describe(Solution solution, double? correlation = null)
        {
            SweepProblem problem = solution.Problem;
            SweepEnvelope envelope = problem.Envelope;
            (double[,] covariance, double[,] independent, double variance, AutoregressiveNoise.Estimate noise) = CovarianceOf(solution);
            int n = problem.Points.Count, dof = n - envelope.ParameterCount;
            double phi = noise.Correlation;
            double effective = AutoregressiveNoise.EffectiveDegreesOfFreedom(dof, n, phi);
            double quantile = CoverageFactor.TwoSided(Level, Math.Max(1, effective));
            double[] full = solution.Full, offset = ToOffset(solution);
            double fd = envelope.MeanDriveHz + full[SweepEnvelope.FreeFrequency], tau = full[SweepEnvelope.Tau], width = 1 / (2 * Math.PI * tau);
            double f0 = Math.Sqrt((fd * fd) + (width * width));
            StudyParameter damped = Moved("damped_frequency_hz", "frequency of the free oscillation", Parameter("", "", SweepEnvelope.FreeFrequency), 1, envelope.MeanDriveHz);
            StudyParameter decay = Parameter("tau_s", "decay time of the amplitude", SweepEnvelope.Tau);
            StudyParameter level = Parameter("resonance_amplitude_mm", "steady amplitude for a drive at the damped frequency", envelope.Levels);
            double qPerTau = Math.PI * f0;
            double[] curve = problem.Amplitudes(full);
            return new SweepFit
            {
                Response = envelope.Response,
                PhaseJumps = envelope.PhaseJumps,
                Parameters =
                [
                    Moved("f0_hz", "undamped natural frequency", damped, 1, f0 - fd),
                    damped,
                    Moved("q", "quality factor", decay, qPerTau, 0),
                    decay,
                    level,
                    new StudyParameter("linewidth_power_hz", "full width at half maximum of the power", new UncertainValue(2 * width, 2 * width * decay.Value.StandardUncertainty / tau),
                        Inverse(decay.Wald95), Inverse(decay.Profile95)),
                ],
                Frames = [.. problem.Points.Indices.Select(i => data.Frames[i])],
                TimesSeconds = problem.Points.Times,
                AmplitudesMm = problem.Points.Amplitudes,
                CurveMm = curve,
                DegreesOfFreedom = dof,
                ResidualRmsMm = solution.RmsMm,
                NoiseCorrelation = phi,
                Aicc = Criterion(solution, correlation ?? phi),
            };

            CoverageInterval Inverse(CoverageInterval interval) => new(1 / (Math.PI * interval.High), 1 / (Math.PI * interval.Low));

            StudyParameter Moved(string name, string meaning, StudyParameter from, double factor, double shift) => new(
                name, meaning, new UncertainValue((from.Value.Value * factor) + shift, from.Value.StandardUncertainty * factor),
                new CoverageInterval((from.Wald95.Low * factor) + shift, (from.Wald95.High * factor) + shift),
                new CoverageInterval((from.Profile95.Low * factor) + shift, (from.Profile95.High * factor) + shift));

            StudyParameter Parameter(string name, string meaning, int index)
            {
                double value = full[index], scattered = Math.Sqrt(covariance[index, index]), alone = Math.Sqrt(independent[index, index]);
                (double low, double high) = ProfileInterval.Find(
                    () => problem.ProfileOf(index, full, solution.Result.SumOfSquares, variance, cancellationToken), value, alone,
                    quantile * scattered / alone, index == SweepEnvelope.Tau ? 0 : double.NegativeInfinity);
                double reach = CoverageFactor.TwoSided(Level, double.PositiveInfinity) * offset[index];
                double u = Math.Sqrt((scattered * scattered) + (offset[index] * offset[index]));
                double wald = Math.Sqrt((quantile * quantile * scattered * scattered) + (reach * reach));
                return new StudyParameter(name, meaning, new UncertainValue(value, u), new CoverageInterval(value - wald, value + wald),
                    new CoverageInterval(value - Hypotenuse(value - low, reach), value + Hypotenuse(high - value, reach)));
            }
        }

        private static (double[,] Covariance, double[,] Independent, double Variance, AutoregressiveNoise.Estimate Noise) CovarianceOf(Solution solution)
        {
            SweepProblem problem = solution.Problem;
            int p = problem.FreeCount, rows = problem.RowCount;
            double[] residuals = new double[rows], jacobian = new double[rows * p];
            problem.Residuals(solution.Full, residuals, jacobian);
            double variance = solution.Result.SumOfSquares / Math.Max(1, rows - p);
            double[,] independent = solution.Result.Covariance(variance);
            AutoregressiveNoise.Estimate noise = AutoregressiveNoise.Of(problem.Points, residuals, jacobian, p);
            return noise is { IsSignificant: true, Correlation: > 0 }
                ? (AutoregressiveNoise.Covariance(problem.Points, rows, jacobian, solution.Result.InverseGram!, noise), independent, variance, noise)
                : (independent, independent, variance, noise with { Correlation = 0 });
        }

        /// <summary>How far each parameter moves when all amplitudes are larger by the offset they may share.</summary>
        private double[] ToOffset(Solution solution)
        {
            double[] none = new double[solution.Full.Length];
            if (!(options.OffsetUncertaintyMm > 0))
                return none;
            SweepProblem moved = solution.Problem.WithPoints(solution.Problem.Points.WithAmplitudes(
                [.. solution.Problem.Points.Amplitudes.Select(a => a + options.OffsetUncertaintyMm)]));
            LeastSquaresResult result = moved.Solve(solution.Full, isNear: true, cancellationToken);
            return result.Converged ? [.. result.Parameters.Zip(solution.Full, (a, b) => Math.Abs(a - b))] : none;
        }

        /// <summary>The steps with a steady amplitude each: only the direction of the response and the settling come from its shape.</summary>
        private (IReadOnlyList<SweepPlateau> Plateaus, double Aicc) Plateaus(Solution shaped, SweepFit fit, double correlation)
        {
            SweepEnvelope of = shaped.Problem.Envelope;
            var envelope = new SweepEnvelope(steps, _points.Times[0], fit.Response, freeLevels: true, of.PhaseJumps);
            double[] start =
            [
                .. shaped.Full[..of.Levels], .. Enumerable.Range(0, steps.Length).Select(k => of.SteadyAmplitude(shaped.Full, k)),
                .. shaped.Full[of.Times..],
            ];
            Solution? levels = Solve(envelope, start, ShiftOf(shaped));
            Solution used = levels ?? shaped;
            double[,] covariance = CovarianceOf(used).Covariance;
            SweepEnvelope own = used.Problem.Envelope;
            double[] transients = new double[steps.Length];
            own.Evaluate(used.Full, _points.Times, own.Divide(used.Full, _points.Times), new double[_points.Count], [], 0, transients);
            var plateaus = new List<SweepPlateau>();
            for (int k = 0; k < steps.Length; k++)
            {
                double begin = own.StartOf(used.Full, k), end = k + 1 < steps.Length ? own.StartOf(used.Full, k + 1) : _points.Times[^1];
                int inside = _points.Times.Count(t => t >= begin && t < end);
                double late = end - ((end - begin) / 3);
                double mean = _points.Amplitudes.Where((_, i) => _points.Times[i] >= late && _points.Times[i] < end).DefaultIfEmpty(double.NaN).Average();
                double steady = own.SteadyAmplitude(used.Full, k);
                int index = own.Levels + k;
                plateaus.Add(new SweepPlateau(
                    steps[k].FrequencyHz, begin, k == 0 ? double.NaN : Math.Sqrt(covariance[own.Times + k - 1, own.Times + k - 1]), end, inside,
                    inside > 0 && levels is not null ? steady : double.NaN,
                    inside > 0 && levels is not null ? Math.Sqrt(covariance[index, index]) : double.NaN,
                    mean, transients[k], inside > 0 && transients[k] <= SettledShare * steady));
            }

            return (plateaus, levels is null ? double.NaN : Criterion(levels, correlation));
        }

        private void Judge(Solution best, SweepFit fit, IReadOnlyList<SweepPlateau> plateaus, double levelsAicc)
        {
            double share = best.RmsMm / _largest;
            if (Misses(best) && share > NoticeableShare)
            {
                _findings.Add(FindingKinds.ModelDoesNotFit.With(share > UselessShare ? FindingSeverity.Error : FindingSeverity.Warning, Text(
                    $"The residuals of the stepped motion are {best.RmsMm:G2} mm (root mean square), the scatter from frame to frame is {_scatter:G2} mm.")));
            }
            else if (levelsAicc < fit.Aicc - FitStatement.Decisive)
            {
                double largest = plateaus.Select((p, k) => Math.Abs(p.AmplitudeMm - best.Problem.Envelope.SteadyAmplitude(best.Full, k))).Where(double.IsFinite).DefaultIfEmpty(0).Max();
                _findings.Add(FindingKinds.ResponseShape.With(FindingSeverity.Info, Text(
                    $"Steps with a steady amplitude each follow the series better than one resonance curve (AICc lower by {fit.Aicc - levelsAicc:F1}); the largest difference is {largest:G2} mm.")));
            }

            SweepPlateau[] unsettled = [.. plateaus.Where(p => p.Points > 0 && !p.IsSettled)];
            if (unsettled.Length > 0)
            {
                _findings.Add(FindingKinds.UnsettledSteps.With(
                    $"{unsettled.Length} of {plateaus.Count} steps ended before the motion had settled to {Text($"{100 * SettledShare:G2}")} %: "
                    + string.Join(", ", unsettled.Take(8).Select(p => Text($"{p.FrequencyHz:G6} Hz"))) + (unsettled.Length > 8 ? ", …" : "") + "."));
            }

            foreach (SweepPlateau plateau in plateaus.Where(p => p.Points == 0))
                _findings.Add(FindingKinds.StepNotSeen.With(Text($"There is no usable point while the drive is at {plateau.FrequencyHz:G6} Hz.")));

            double[] late = [.. plateaus.Skip(1).Select((p, k) => p.StartSeconds - steps[k + 1].StartSeconds)];
            int worst = Array.IndexOf(late, late.MaxBy(Math.Abs));
            double u = plateaus[worst + 1].StartUncertaintySeconds;
            if (Math.Abs(late[worst]) > LateSteps * Math.Max(StepTimeUncertaintySeconds, u))
            {
                _findings.Add(FindingKinds.StepTimesDiffer.With(Text(
                    $"The step to {plateaus[worst + 1].FrequencyHz:G6} Hz is seen at {plateaus[worst + 1].StartSeconds:F2} s, the table says {steps[worst + 1].StartSeconds:F2} s; the steps are {late.Order().ElementAt(late.Length / 2):F2} s late in the middle.")));
            }

            if (fit.PhaseJumps)
                _findings.Add(FindingKinds.DrivePhaseJumps.With("Jumps of the phase were fitted, one for each step."));
            if (fit.NoiseCorrelation > 0)
            {
                _findings.Add(FindingKinds.CorrelatedResiduals.With(Text(
                    $"Residuals one frame apart have a correlation of {fit.NoiseCorrelation:F2}; the uncertainties were enlarged for it.")));
            }

            StudyParameter f0 = fit.Parameter("f0_hz");
            _findings.AddRange(ResonanceStudies.SamplingDoubts(
                [.. steps.Select(step => step.FrequencyHz).Order()], f0.Value.Value, fit.Parameter("linewidth_power_hz").Value.Value / 2));
        }

        private static double Hypotenuse(double a, double b) => b == 0 ? a : Math.Sqrt((a * a) + (b * b));

        private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
    }

    private static double Rms(double[] residuals) => Math.Sqrt(residuals.Sum(r => r * r) / residuals.Length);
}
