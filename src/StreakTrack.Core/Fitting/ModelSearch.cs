namespace StreakTrack.Core.Fitting;

/// <summary>Fits all sensible models, with and without a steady part before the switch, and ranks them.</summary>
internal sealed class ModelSearch
{
    /// <summary>What a steady part must gain beside its own parameters before it is believed, as a difference of AICc.</summary>
    private const double SteadyPartGain = 6;

    /// <summary>Probability of the residuals below which the plain models are taken to miss something and the transient is tried.</summary>
    private const double MisfitProbability = 1e-3;

    /// <summary>A floor above this share of the starting amplitude is another level of the motion rather than one of the reading.</summary>
    private const double LargestFloorShare = 0.2;

    /// <summary>Residuals this many times larger than their scatter from point to point hold more than noise.</summary>
    private const double MisfitRatio = 3;

    private const int FewestAfter = 3;

    /// <summary>How the points are divided by the switch.</summary>
    /// <param name="LeftOut">Points left out because their exposure may straddle it, by position.</param>
    /// <param name="Before">Points before it, of those that are left.</param>
    /// <param name="SwitchTime">Its time when known, in s; NaN to fit it.</param>
    private sealed record Division(int[] LeftOut, int Before, double SwitchTime);

    private readonly FitPoints _points;
    private readonly EnvelopeFitOptions _options;
    private readonly CancellationToken _cancellationToken;

    public ModelSearch(FitPoints points, EnvelopeFitOptions options, CancellationToken cancellationToken)
    {
        _points = points;
        _options = options;
        _cancellationToken = cancellationToken;
    }

    /// <summary>All candidates on the winning choice of points, the best first; those that did not converge last.</summary>
    public IReadOnlyList<EnvelopeCandidate> Candidates { get; private set; } = [];

    /// <summary>Points of the selection left out because their exposure may straddle the switch, by position in it.</summary>
    public IReadOnlyList<int> Transition { get; private set; } = [];

    /// <summary>The change point that the switch was held at; null when it was not looked for, or there is none.</summary>
    public ChangePoint? FoundSwitch { get; private set; }

    public void Run()
    {
        double? switchTime = _options.SwitchTimeSeconds;
        if (switchTime is null && _options.SwitchTime == SwitchTimeSource.ChangePoint)
        {
            FoundSwitch = ChangePoint.Find(_points);
            switchTime = FoundSwitch?.TimeSeconds;
        }

        if (switchTime is double known)
        {
            // A frame's exposure begins at its time, so the last frame that began before the switch may have seen both sides of it.
            int before = 0;
            while (before < _points.Count && _points.Times[before] < known)
                before++;
            int[] straddling = before > 0 && known - _points.Times[before - 1] < 1.5 * _points.Spacing ? [before - 1] : [];
            var given = new Division(straddling, before - straddling.Length, known);
            List<EnvelopeCandidate> plain = FitPlain(given);
            Candidates = Misses(plain) ? WithTransients(plain, FitTransients(given)) : plain;
            Transition = straddling;
            return;
        }

        int place = new ExponentialScan(_points).BestBefore();
        Division division = new([], 0, double.NaN);
        List<EnvelopeCandidate> best = [];
        if (place > 0)
        {
            var split = new Division([place - 1, place], place - 1, double.NaN);
            List<EnvelopeCandidate> candidates = FitPlain(split);

            // Criteria only compare on the same points, so the undivided series is held against it without those two.
            if (candidates.Count > 0 && candidates[0].Converged && Gains(candidates, FitPlain(split with { Before = 0 })))
            {
                (best, division) = (candidates, split);
                int joint = BestJointPlace(candidates[0], place);
                if (joint != place)
                {
                    var moved = new Division([joint - 1, joint], joint - 1, double.NaN);
                    List<EnvelopeCandidate> again = FitPlain(moved);
                    if (again.Count > 0 && again[0].Converged)
                        (best, division) = (again, moved);
                }
            }
        }

        if (best.Count == 0)
            best = FitPlain(division);
        if (Misses(best))
        {
            List<EnvelopeCandidate> beats = WithTransients(best, FitTransients(division));
            if (division.Before > 0)
            {
                // A steady part can be a beat's crest: the undivided series is asked again with the models that beat.
                var undivided = new Division([], 0, double.NaN);
                List<EnvelopeCandidate> same = FitTransients(division with { Before = 0 });
                if (!Gains(beats, Ranked(same)))
                {
                    division = undivided;
                    beats = WithTransients(FitPlain(undivided), FitTransients(undivided));
                }
            }

            best = beats;
        }

        (Candidates, Transition) = (best, division.LeftOut);

        static bool Gains(List<EnvelopeCandidate> split, List<EnvelopeCandidate> undivided) =>
            undivided.Count == 0 || !undivided[0].Converged || split[0].Aicc < undivided[0].Aicc - SteadyPartGain;
    }

    /// <summary>The same candidates with other weights, ranked anew.</summary>
    /// <param name="weighted">The points handed in, with their weights.</param>
    public void Reweigh(FitPoints weighted)
    {
        if (Candidates.Count == 0)
            return;
        FitPoints points = Transition.Count == 0 ? weighted : weighted.Where(i => !Transition.Contains(i));
        Candidates = Ranked([.. Candidates.Select(candidate =>
            candidate.Converged ? candidate.Refit(candidate.Problem.WithCorrelation(0).WithPoints(points)) : candidate)]);
    }

    /// <summary>
    /// The place of the switch with the least sum of squares when the curve may not jump there. The scan that found the first place lets
    /// it jump, and so is led astray by noise more easily.
    /// </summary>
    private int BestJointPlace(EnvelopeCandidate candidate, int place)
    {
        int best = place;
        double bestSum = Sum(place);
        foreach (int direction in (int[])[-1, 1])
        {
            int misses = 0;
            for (int k = place + direction; k >= 2 && k <= _points.Count - FewestAfter && misses < 3; k += direction)
            {
                double sum = Sum(k);
                misses = sum < bestSum ? 0 : misses + 1;
                if (sum < bestSum)
                    (best, bestSum) = (k, sum);
            }
        }

        return best;

        double Sum(int before)
        {
            var problem = new EnvelopeProblem(candidate.Model, _points, before, [.. candidate.Problem.Held]);
            LeastSquaresResult result = problem.Solve(candidate.Full, _cancellationToken);
            return result.Converged ? result.SumOfSquares : double.PositiveInfinity;
        }
    }

    private bool IsNamed(EnvelopeModel model) => _options.Model == model.Name;

    /// <summary>All models without beats.</summary>
    private List<EnvelopeCandidate> FitPlain(Division division)
    {
        if (Scan(division) is not { } scan)
            return [];
        if (_options.Model != EnvelopeFitOptions.AutomaticModel && !_options.CompareModels)
            return Ranked(Fit(EnvelopeModels.FormsOf(_options.Model), division, scan));

        bool rising = scan.Tail(division.Before, withConstant: true).Size < 0;
        var models = new List<EnvelopeModel>();
        if (rising)
        {
            models.AddRange([EnvelopeModels.Rise, DetunedRiseModel.Instance]);
            if (division.Before > 0 || !double.IsNaN(division.SwitchTime))
                models.Add(EnvelopeModels.DecayLevel);
        }
        else
            models.AddRange([EnvelopeModels.Decay, EnvelopeModels.DecayFloor, EnvelopeModels.Drag, EnvelopeModels.DryFriction]);

        if (_options.Model != EnvelopeFitOptions.AutomaticModel)
            models.AddRange(EnvelopeModels.FormsOf(_options.Model).Where(form => !models.Contains(form) && form is not TransientModel));
        List<EnvelopeCandidate> candidates = Fit(models, division, scan);
        DropTwins(candidates);
        return Ranked(candidates);
    }

    private List<EnvelopeCandidate> FitTransients(Division division) =>
        Scan(division) is { } scan ? Fit([TransientModel.FromRest, TransientModel.General], division, scan) : [];

    /// <summary>Candidates together with the transients, of which the detuned rise is one.</summary>
    private static List<EnvelopeCandidate> WithTransients(List<EnvelopeCandidate> plain, List<EnvelopeCandidate> transients)
    {
        bool fromRest = transients.Exists(candidate => candidate.Model == TransientModel.FromRest && candidate.Converged);
        return Ranked([.. plain.Where(candidate => !fromRest || candidate.Model is not DetunedRiseModel), .. transients]);
    }

    private List<EnvelopeCandidate> Fit(IEnumerable<EnvelopeModel> models, Division division, ExponentialScan scan)
    {
        FitPoints points = Selected(division);
        var candidates = new List<EnvelopeCandidate>();
        foreach (EnvelopeModel model in models)
        {
            EnvelopeCandidate? candidate =
                EnvelopeCandidate.Fit(model, points, scan, division.Before, division.SwitchTime, _cancellationToken);
            if (candidate is not null)
                candidates.Add(candidate);
        }

        return candidates;
    }

    /// <summary>The scan of a division's points; null when too few of them lie after the switch.</summary>
    private ExponentialScan? Scan(Division division)
    {
        FitPoints points = Selected(division);
        return points.Count - division.Before < FewestAfter ? null : new ExponentialScan(points);
    }

    private FitPoints Selected(Division division) =>
        division.LeftOut.Length == 0 ? _points : _points.Where(i => !division.LeftOut.Contains(i));

    /// <summary>
    /// Whether the plain models leave something that noise, correlated or not, does not explain; or the transient was named.
    /// </summary>
    private bool Misses(List<EnvelopeCandidate> ranked)
    {
        if (_options.Model != EnvelopeFitOptions.AutomaticModel && !_options.CompareModels)
            return false;
        if (_options.Model == TransientModel.General.Name || ranked.Count == 0 || !ranked[0].Converged)
            return true;
        EnvelopeCandidate best = ranked[0];
        double[] residuals = best.Problem.StandardResiduals(best.Full);
        if (MissBySize(residuals))
            return true;
        best.Problem.Points.Whiten(residuals, best.Problem.Correlation);
        return ResidualAnalysis.Of(residuals).LjungBoxProbability < MisfitProbability;
    }

    /// <summary>Whether residuals are so much larger than their scatter from point to point that no noise explains it.</summary>
    internal static bool MissBySize(double[] residuals) =>
        Math.Sqrt(residuals.Sum(r => r * r) / residuals.Length) > MisfitRatio * LocalScatter.Of(residuals);

    /// <summary>Orders candidates by their criterion, with the correlation of its own residuals allowed for in each where the best one's have any.</summary>
    private static List<EnvelopeCandidate> Ranked(List<EnvelopeCandidate> candidates)
    {
        List<EnvelopeCandidate> ordered = Order([.. candidates.Select(candidate => candidate.Plain ?? candidate)]);
        if (ordered.Count == 0 || !ordered[0].Converged)
            return ordered;

        // Neighbours that resemble each other make every difference of the criterion too large, and a needless parameter look needed.
        // The correlation is one more unknown of each model: at that of the richest, which has followed part of the noise, a simpler one
        // would be charged for what noise explains.
        return AutoregressiveNoise.Of(ordered[0].Problem, ordered[0].Full).IsSignificant
            ? Order([.. ordered.Select(candidate => candidate.Converged ? WithOwnCorrelation(candidate) : candidate)])
            : ordered;
    }

    private static EnvelopeCandidate WithOwnCorrelation(EnvelopeCandidate candidate)
    {
        double correlation = AutoregressiveNoise.Of(candidate.Problem, candidate.Full).Correlation;
        return candidate.Refit(candidate.Problem.WithCorrelation(correlation)) with { Plain = candidate };
    }

    private static List<EnvelopeCandidate> Order(List<EnvelopeCandidate> candidates) =>
        [
            .. candidates.OrderBy(candidate => !candidate.Converged).ThenBy(candidate => candidate.IsAtBound)
                .ThenBy(candidate => candidate.Aicc),
        ];

    /// <summary>Leaves one name to each curve: floor, other level and dry friction are the same exponential read differently.</summary>
    private void DropTwins(List<EnvelopeCandidate> candidates)
    {
        int index = candidates.FindIndex(candidate => candidate.Model is DecayFloorModel);
        if (index < 0 || !candidates[index].Converged)
            return;
        EnvelopeCandidate floor = candidates[index];
        if (IsNamed(EnvelopeModels.DecayFloor))
            return;
        double share = floor.Full[2] / floor.Full[1];
        if (IsNamed(EnvelopeModels.DecayLevel))
            candidates.RemoveAt(index);
        else if (share < 0 && candidates.Any(
            candidate => candidate.Model is DryFrictionModel && candidate.Converged && !candidate.IsAtBound))
            candidates.RemoveAt(index);
        else if (share > LargestFloorShare)
        {
            double[] level = [floor.Full[0], floor.Full[1] + floor.Full[2], floor.Full[2], floor.Full[3]];
            double[] mask = [double.NaN, double.NaN, double.NaN, floor.Problem.Held[^1]];
            var problem = new EnvelopeProblem(EnvelopeModels.DecayLevel, floor.Problem.Points, floor.Problem.Before, mask);
            candidates[index] = new EnvelopeCandidate(problem, problem.Solve(level), level, false);
        }
    }
}
