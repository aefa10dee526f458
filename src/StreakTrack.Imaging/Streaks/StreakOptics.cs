namespace StreakTrack.Imaging.Streaks;

/// <summary>What all streaks of a clip have in common: the spot's width, the exposure in periods, and the ruler's reflectance.</summary>
internal sealed class StreakOptics
{
    private const int WidthFrames = 40;
    private const int ResponseFrames = 160;

    /// <summary>Half length, in sigma, from which a streak shows two ends that do not touch.</summary>
    private const double LongStreak = 5;

    private StreakOptics(double sigmaPx, double sigmaUncertaintyPx, double periods, double periodsSd, float[] response)
    {
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
        int[] long1 = Longest(scene, LongStreak * sigma, WidthFrames);
        if (long1.Length < 3)
            return new StreakOptics(sigma, double.NaN, 1, 0, even);

        var optics = new StreakOptics(sigma, double.NaN, PeriodsBySearch(scene, long1, sigma, even), 0, even);
        int[] many = Longest(scene, LongStreak * sigma, ResponseFrames);
        for (int round = 0; round < 2; round++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            optics = optics.Refined(scene, long1);
            float[] response = optics.ResponseFrom(scene, many);
            optics = new StreakOptics(optics.SigmaPx, optics.SigmaUncertaintyPx, optics.Periods, optics.PeriodsSd, response);
        }

        return optics.Refined(scene, long1);
    }

    /// <summary>A first guess for the profile fit of a frame.</summary>
    /// <param name="coarse">The streak by threshold.</param>
    /// <param name="light">The frame's profile.</param>
    /// <param name="noise">Its noise.</param>
    /// <param name="scan">Scratch.</param>
    public StreakShape Guess(in CoarseStreak coarse, ReadOnlySpan<float> light, in ProfileNoise noise, PhaseScan scan)
    {
        double half = coarse.InnerHalfLengthPx(SigmaPx);
        var shape = new StreakShape(half, coarse.CentrePx, coarse.TotalLight / Periods, 0, 0, SigmaPx, Periods);
        scan.Prepare(light, Response, noise, shape);
        (double start, double wholePeriod, _) = scan.Best(Periods);
        return shape with { StartRad = start, Light = double.IsFinite(wholePeriod) ? wholePeriod : shape.Light };
    }

    private static int[] Longest(StreakScene scene, double leastHalfPx, int count)
    {
        double edge = 4;
        int[] fit = [.. Enumerable.Range(0, scene.Coarse.Length).Where(k =>
            scene.Coarse[k] is CoarseStreak c && c.HalfLengthPx > leastHalfPx
            && c.FirstEndPx > edge && c.SecondEndPx < scene.Length - 1 - edge)];
        return fit.Length <= count ? fit : [.. Enumerable.Range(0, count).Select(k => fit[(int)((long)k * fit.Length / count)])];
    }

    // The exposure in periods that lets the brightness along the streaks be explained best, whatever the phases.
    private static double PeriodsBySearch(StreakScene scene, int[] frames, double sigma, float[] even)
    {
        double[] candidates = [.. Enumerable.Range(0, 46).Select(k => 0.5 + (0.05 * k))];
        double[] score = new double[candidates.Length];
        object gate = new();
        Parallel.ForEach(
            frames.Where((_, k) => k % 2 == 0), () => (new PhaseScan(), new float[scene.Length], new double[candidates.Length]),
            (frame, _, local) =>
            {
                (PhaseScan scan, float[] light, double[] sum) = local;
                CoarseStreak coarse = scene.Coarse[frame]!.Value;
                scene.Read(frame, light);
                double half = coarse.InnerHalfLengthPx(sigma);
                scan.Prepare(light, even, scene.Noise, new StreakShape(half, coarse.CentrePx, coarse.TotalLight, 0, 0, sigma, 1));
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
        Parallel.For(0, frames.Length, () => new Workspace(scene.Length), (k, _, work) =>
        {
            scene.Read(frames[k], work.Light);
            StreakShape start = Guess(scene.Coarse[frames[k]]!.Value, work.Light, scene.Noise, work.Scan);
            var known = new ProfileConstraints(0, double.PositiveInfinity, 0.3 * SigmaPx, 0.05);
            ProfileFit fit = work.Fitter.Fit(work.Light, Response, scene.Noise, start, known);
            bool good = fit.Converged && double.IsFinite(fit.SigmaUncertaintyPx);
            sigmas[k] = fit.Shape.SigmaPx;
            periods[k] = fit.Shape.Periods;
            weights[k] = good ? 1 / Math.Pow(Math.Max(fit.SigmaUncertaintyPx, 0.01 * SigmaPx), 2) : 0;
            return work;
        }, _ => { });
        if (weights.Sum() == 0)
            return this;
        (double sigma, double sigmaSd) = WeightedMedian(sigmas, weights);
        (double length, double lengthSd) = WeightedMedian(periods, weights);
        return new StreakOptics(sigma, sigmaSd / Math.Sqrt(frames.Length), length, Math.Clamp(lengthSd, 0.002, 0.05), Response);
    }

    // How bright each place answers, from the places' ratio of light to model; only well inside the streaks, where the model is smooth
    // and
    // does not depend on where the ends lie.
    private float[] ResponseFrom(StreakScene scene, int[] frames)
    {
        float[] even = new float[scene.Length];
        Array.Fill(even, 1f);
        double[] sum = new double[scene.Length], weight = new double[scene.Length];
        object gate = new();
        Parallel.For(0, frames.Length, () => new Workspace(scene.Length), (k, _, work) =>
        {
            scene.Read(frames[k], work.Light);
            StreakShape start = Guess(scene.Coarse[frames[k]]!.Value, work.Light, scene.Noise, work.Scan);
            ProfileFit fit = work.Fitter.Fit(work.Light, Response, scene.Noise, start, ProfileConstraints.Tied);
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
