namespace StreakTrack.Imaging.Streaks;

/// <summary>What all streaks of a clip have in common: the spot's width, the exposure in periods, and the ruler's reflectance.</summary>
internal sealed record StreakOptics
{
    private const int WidthFrames = 40;
    private const int ResponseFrames = 100;

    /// <summary>Half length, in sigma, from which a streak shows two ends that do not touch.</summary>
    private const double LongStreak = 5;

    private readonly ArcCoverage _coverage;

    private StreakOptics(
        ArcCoverage coverage, double sigmaPx, double sigmaUncertaintyPx, double periods, double periodsSd, float[] response)
    {
        _coverage = coverage;
        SigmaPx = sigmaPx;
        SigmaUncertaintyPx = sigmaUncertaintyPx;
        Periods = periods;
        PeriodsSd = periodsSd;
        Response = response;
    }

    /// <summary>Standard deviation of the spot along the streak, in px.</summary>
    public double SigmaPx { get; }

    /// <summary>Standard uncertainty of <see cref="SigmaPx"/>; NaN when no streak was long enough to tell.</summary>
    public double SigmaUncertaintyPx { get; }

    /// <summary>Length of the exposure in periods of the oscillation; 1 where it cannot be told.</summary>
    public double Periods { get; }

    /// <summary>Scatter of <see cref="Periods"/> from frame to frame; 0 where it is held.</summary>
    public double PeriodsSd { get; }

    /// <summary>Whether the exposures see only arcs of the swing.</summary>
    public bool IsPartial => _coverage.IsPartial;

    /// <summary>Middle of the swing, in px along the strip; where exposures see only arcs, what is known of it.</summary>
    public double CentrePx { get; private init; } = double.NaN;

    /// <summary>Scatter of <see cref="CentrePx"/> from frame to frame, in px.</summary>
    public double CentreSdPx { get; private init; }

    /// <summary>Light of a whole period, typical of the clip; NaN where it cannot be told.</summary>
    public double Light { get; private init; } = double.NaN;

    /// <summary>Relative response of each place of the strip to the laser: ticks and texture of the ruler.</summary>
    public float[] Response { get; }

    /// <summary>Estimates it.</summary>
    /// <param name="scene">The profiles.</param>
    /// <param name="acrossSigmaPx">The streak's standard deviation across the strip: the spot's, if it is round.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public static StreakOptics Of(StreakScene scene, double acrossSigmaPx, CancellationToken cancellationToken)
    {
        float[] even = new float[scene.Length];
        Array.Fill(even, 1f);
        double sigma = acrossSigmaPx;
        ArcCoverage coverage = ArcCoverage.Of(scene.Whole, sigma);
        var rough = new StreakOptics(coverage, sigma, double.NaN, 1, 0, even) 
        {
            CentrePx = coverage.CentrePx, CentreSdPx = RoughCentreSd * sigma,
        };
        int[] some = rough.Longest(scene, LongStreak * sigma, WidthFrames);
        if (some.Length < 3)
            return rough;

        double periods = rough.PeriodsBySearch(scene, some);
        if (rough.IsPartial && periods > NearlyWhole)
        {
            // Ends that jump although the brightness tells of a whole period jump for another reason: noise, or something in the way.
            coverage = ArcCoverage.Of(scene.Whole, sigma, wholeSwings: true);
            rough = new StreakOptics(coverage, sigma, double.NaN, 1, 0, even) 
            {
                CentrePx = coverage.CentrePx, CentreSdPx = RoughCentreSd * sigma,
            };
            periods = rough.PeriodsBySearch(scene, some);
        }

        StreakOptics optics = rough.With(sigma, double.NaN, periods, 0, even);
        optics = optics.Refined(scene, some);
        int[] many = optics.Longest(scene, LongStreak * sigma, ResponseFrames);
        cancellationToken.ThrowIfCancellationRequested();
        float[] response = optics.ResponseFrom(scene, many);
        cancellationToken.ThrowIfCancellationRequested();
        return optics.With(optics.SigmaPx, optics.SigmaUncertaintyPx, optics.Periods, optics.PeriodsSd, response).Refined(scene, some);
    }

    private StreakOptics With(double sigma, double sigmaUncertainty, double periods, double periodsSd, float[] response) =>
        new(_coverage, sigma, sigmaUncertainty, periods, periodsSd, response) 
        {
            CentrePx = CentrePx, CentreSdPx = CentreSdPx, Light = Light,
        };

    /// <summary>What is known of a frame's profile before it is fitted.</summary>
    /// <param name="sigmaSdPx">How far the spot's width may depart from the clip's, as a standard deviation; 0 holds it.</param>
    /// <param name="periodsSd">The same for the exposure in periods.</param>
    public ProfileConstraints Known(double sigmaSdPx, double periodsSd)
    {
        // Where one end is out of sight, the middle and the light are what the rest of the clip says they are.
        if (!IsPartial)
            return ProfileConstraints.Free(sigmaSdPx, periodsSd);
        return new ProfileConstraints(CentrePx, CentreSdPx, sigmaSdPx, periodsSd,
            Light, double.IsFinite(Light) ? LightSd * Light : double.PositiveInfinity);
    }

    /// <summary>Exposure in periods from which both ends are seen in nearly every frame.</summary>
    private const double NearlyWhole = 0.95;

    /// <summary>How well the middle of the swing is known at first when exposures see only arcs, in sigma; and how well at best and at worst
    /// once frames that see both ends have told it.</summary>
    private const double RoughCentreSd = 0.3, BestCentreSd = 0.03;

    /// <summary>A spot narrower than this share of what was expected, or wider than its inverse, was not understood.</summary>
    private const double SmallestSigmaRatio = 0.6;

    /// <summary>How steady a laser's light is taken to be, as a share.</summary>
    private const double LightSd = 0.05;

    /// <summary>A first guess for the profile fit of a frame.</summary>
    /// <param name="coarse">The streak by threshold.</param>
    /// <param name="frame">The frame's position in the clip.</param>
    /// <param name="light">The frame's profile.</param>
    /// <param name="noise">Its noise.</param>
    /// <param name="scan">Scratch.</param>
    public StreakShape Guess(in CoarseStreak coarse, int frame, ReadOnlySpan<float> light, in ProfileNoise noise, PhaseScan scan)
    {
        StreakShape shape = Ends(coarse, frame) with { SigmaPx = SigmaPx, Periods = Periods };
        scan.Prepare(light, Response, noise, shape);
        (double start, double wholePeriod, _) = scan.Best(Periods);
        return shape with { StartRad = start, Light = double.IsFinite(wholePeriod) ? wholePeriod : shape.Light };
    }

    // The ends by threshold, as far as they go with the neighbouring frames.
    private StreakShape Ends(in CoarseStreak coarse, int frame)
    {
        double centre = IsPartial ? CentrePx : _coverage.CentresPx[frame];
        return new StreakShape(_coverage.HalfLengthPx[frame], centre, coarse.TotalLight / Periods, 0, 0, SigmaPx, Periods);
    }

    private int[] Longest(StreakScene scene, double leastHalfPx, int count)
    {
        double edge = 4;
        int[] fit = [.. Enumerable.Range(0, scene.Whole.Length).Where(k =>
            scene.Whole[k] is CoarseStreak c && Ends(c, k).HalfLengthPx > leastHalfPx
            && c.FirstEndPx > edge && c.SecondEndPx < scene.Length - 1 - edge)];
        return fit.Length <= count ? fit : [.. Enumerable.Range(0, count).Select(k => fit[(int)((long)k * fit.Length / count)])];
    }

    // The exposure in periods that lets the brightness along the streaks be explained best, whatever the phases.
    private double PeriodsBySearch(StreakScene scene, int[] frames)
    {
        double[] candidates = IsPartial
            ? [.. Enumerable.Range(0, 48).Select(k => 0.05 + (0.025 * k))]
            : [.. Enumerable.Range(0, 46).Select(k => 0.5 + (0.05 * k))];
        double[] score = new double[candidates.Length];
        object gate = new();
        Parallel.ForEach(
            frames.Where((_, k) => k % 2 == 0), () => (new PhaseScan(), new float[scene.Length], new double[candidates.Length]),
            (frame, _, local) =>
            {
                (PhaseScan scan, float[] light, double[] sum) = local;
                CoarseStreak coarse = scene.Coarse[frame]!.Value;
                scene.Read(frame, light);
                scan.Prepare(light, Response, scene.Noise, Ends(coarse, frame));
                double[] chi = [.. candidates.Select(p => scan.Best(p).ChiSquare)];
                double least = chi.Min();
                for (int c = 0; c < chi.Length; c++)
                    sum[c] += Math.Min(chi[c] / least, 10);
                return local;
            },
            local =>
            {
                lock (gate)
                {
                    for (int c = 0; c < score.Length; c++)
                        score[c] += local.Item3[c];
                }
            });
        return candidates[Array.IndexOf(score, score.Min())];
    }

    private StreakOptics Refined(StreakScene scene, int[] frames)
    {
        var sigmas = new double[frames.Length];
        var weights = new double[frames.Length];
        var periods = new double[frames.Length];
        var centres = new double[frames.Length];
        var lights = new double[frames.Length];
        var bothEnds = new double[frames.Length];
        Parallel.For(0, frames.Length, () => new Workspace(scene.Length), (k, _, work) =>
        {
            scene.Read(frames[k], work.Light);
            StreakShape start = Guess(scene.Coarse[frames[k]]!.Value, frames[k], work.Light, scene.Noise, work.Scan);
            ProfileFit fit = work.Fitter.Fit(work.Light, Response, scene.Noise, start, Known(0.3 * SigmaPx, 0.05));
            bool good = fit.Converged && double.IsFinite(fit.SigmaUncertaintyPx)
                && fit.Shape.SigmaPx > SmallestSigmaRatio * SigmaPx && fit.Shape.SigmaPx < SigmaPx / SmallestSigmaRatio;
            sigmas[k] = fit.Shape.SigmaPx;
            periods[k] = fit.Shape.Periods;
            centres[k] = fit.Shape.CentrePx;
            lights[k] = fit.Shape.Light;
            bothEnds[k] = fit.Converged ? 1 / Math.Pow(Math.Max(fit.HalfLengthUncertaintyPx, 0.01 * SigmaPx), 2) : 0;
            weights[k] = good ? 1 / Math.Pow(Math.Max(fit.SigmaUncertaintyPx, 0.01 * SigmaPx), 2) : 0;
            return work;
        }, _ => { });
        if (weights.Sum() == 0)
            return this;
        (double sigma, double sigmaSd) = WeightedMedian(sigmas, weights);
        (double length, double lengthSd) = WeightedMedian(periods, weights);
        // Frames that see both ends know their half length best, and the middle with it.
        (double centre, double centreSd) = WeightedMedian(centres, bothEnds);
        return With(sigma, sigmaSd / Math.Sqrt(frames.Length), length, Math.Clamp(lengthSd, 0.002, 0.05), Response) with
        {
            CentrePx = centre,
            CentreSdPx = Math.Clamp(centreSd, BestCentreSd * sigma, RoughCentreSd * sigma),
            Light = WeightedMedian(lights, weights).Median,
        };
    }

    // How bright each place answers, from the places' ratio of light to model; only well inside the streaks, where the model is smooth
    // and does not depend on where the ends lie.
    private float[] ResponseFrom(StreakScene scene, int[] frames)
    {
        float[] even = new float[scene.Length];
        Array.Fill(even, 1f);
        double[] sum = new double[scene.Length], weight = new double[scene.Length];
        object gate = new();
        Parallel.For(0, frames.Length, () => new Workspace(scene.Length), (k, _, work) =>
        {
            scene.Read(frames[k], work.Light);
            StreakShape start = Guess(scene.Coarse[frames[k]]!.Value, frames[k], work.Light, scene.Noise, work.Scan);
            ProfileFit fit = work.Fitter.Fit(work.Light, Response, scene.Noise, start, Known(0, PeriodsSd));
            if (!fit.Converged)
                return work;
            StreakShape shape = fit.Shape;
            double inner = shape.HalfLengthPx - (2.5 * SigmaPx);
            int from = Math.Max(0, (int)Math.Ceiling(shape.CentrePx - inner));
            int to = Math.Min(scene.Length - 1, (int)Math.Floor(shape.CentrePx + inner));
            if (to <= from)
                return work;
            work.Fitter.Model.Evaluate(shape with { Background = 0 }, even, from, to - from + 1);
            for (int i = from; i <= to; i++)
            {
                double model = work.Fitter.Model.Values[i - from], value = work.Light[i] - shape.Background;
                if (double.IsNaN(value) || model <= 0)
                    continue;
                double w = model * model / scene.Noise.Variance(model);
                work.Sum[i] += w * value / model;
                work.Weight[i] += w;
            }

            return work;
        },
        work =>
        {
            lock (gate)
            {
                for (int i = 0; i < sum.Length; i++)
                {
                    sum[i] += work.Sum[i];
                    weight[i] += work.Weight[i];
                }
            }
        });

        // One good frame's worth of belief in an even ruler keeps places with little light near 1.
        double prior = 0.5 / (scene.Noise.RelativeSd * scene.Noise.RelativeSd);
        float[] response = new float[scene.Length];
        for (int i = 0; i < response.Length; i++)
            response[i] = (float)((sum[i] + prior) / (weight[i] + prior));
        return response;
    }

    // Weighted median and a robust standard deviation.
    private static (double Median, double Sd) WeightedMedian(double[] values, double[] weights)
    {
        double median = Half(values);
        return (median, 1.4826 * Half([.. values.Select(v => Math.Abs(v - median))]));

        double Half(double[] of)
        {
            double all = weights.Sum(), sum = 0;
            foreach (int k in Enumerable.Range(0, of.Length).OrderBy(k => of[k]))
            {
                sum += weights[k];
                if (sum >= all / 2)
                    return of[k];
            }

            return double.NaN;
        }
    }

    /// <summary>What one thread needs.</summary>
    internal sealed class Workspace(int length)
    {
        public float[] Light { get; } = new float[length];

        public ProfileFitter Fitter { get; } = new();

        public PhaseScan Scan { get; } = new();

        public double[] Sum { get; } = new double[length];

        public double[] Weight { get; } = new double[length];
    }
}
