using System.Runtime.CompilerServices;
using System.Runtime.Intrinsics;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Fits <see cref="StreakProfile"/> to the brightness along a strip by weighted least squares (Levenberg-Marquardt).</summary>
/// <remarks>One object belongs to one thread; its arrays are reused.</remarks>
internal sealed class ProfileFitter
{
    private const int MaxIterations = 60;

    /// <summary>How far beyond the ends the fit looks, in sigma: enough to see the background.</summary>
    private const double OuterReach = 8;

    /// <summary>Standard deviation of what is not known of a spot's tails, as a share of the streak's peak.</summary>
    public const double TailSd = 0.01;

    private readonly StreakProfile _model = new();
    private readonly double[] _normal = new double[StreakProfile.ParameterCount * StreakProfile.ParameterCount];
    private readonly double[] _right = new double[StreakProfile.ParameterCount];
    private float[] _weights = [], _residuals = [], _weighted = [];

    /// <summary>Model values of the last evaluation; for residuals after a fit.</summary>
    public StreakProfile Model => _model;

    /// <summary>Fits one profile.</summary>
    /// <param name="light">Laser light along the strip; NaN where there is none to be had.</param>
    /// <param name="response">Relative response of each place.</param>
    /// <param name="noise">Standard deviation of one sample where there is no light, and of its parts that grow with the light.</param>
    /// <param name="start">First guess.</param>
    /// <param name="known">What is known beforehand.</param>
    public ProfileFit Fit(
        ReadOnlySpan<float> light, ReadOnlySpan<float> response, in ProfileNoise noise, in StreakShape start, in ProfileConstraints known)
    {
        double outer = OuterReach * start.SigmaPx;
        int from = Math.Max(0, (int)Math.Ceiling(start.CentrePx - start.HalfLengthPx - outer));
        int to = Math.Min(light.Length - 1, (int)Math.Floor(start.CentrePx + start.HalfLengthPx + outer));
        int count = to - from + 1;
        Span<bool> free = stackalloc bool[StreakProfile.ParameterCount];
        free.Fill(true);
        free[StreakProfile.Sigma] = known.SigmaSdPx > 0;
        free[StreakProfile.Periods] = known.PeriodsSd > 0;
        free[StreakProfile.RowPhase] = known.RowPhaseSdRadPerPx > 0;
        if (count < 8)
            return new ProfileFit(start, double.NaN, double.NaN, double.NaN, double.NaN, false);

        StreakShape p = start;
        _model.Evaluate(p, response, from, count);
        (int samples, double independent) = SetWeights(light, noise, start.Background);
        double chi = ChiSquare(light, p, start, known);
        double damping = 1e-3;
        bool converged = false, atShape = true;
        Span<double> step = stackalloc double[StreakProfile.ParameterCount];
        Accumulate(light, p, start, known, free);
        for (int iteration = 0; iteration < MaxIterations && !converged; iteration++)
        {
            if (!SmallSystem.TrySolve(_normal, _right, free, damping, step))
                break;
            StreakShape trial = Step(p, step);
            _model.Evaluate(trial, response, from, count);
            atShape = false;
            double trialChi = ChiSquare(light, trial, start, known);
            if (trialChi <= chi)
            {
                double still = 1e-3 * p.SigmaPx;
                converged = Math.Abs(step[StreakProfile.HalfLength]) < still && Math.Abs(step[StreakProfile.Centre]) < still
                    && chi - trialChi < 1e-4 * chi;
                (p, chi, atShape) = (trial, trialChi, true);
                Accumulate(light, p, start, known, free);
                damping = Math.Max(damping / 10, 1e-7);
            }
            else if (damping > 1e5)
            {
                // Not even a tiny step downhill improves: this is the minimum to the precision of the sums.
                converged = true;
            }
            else
            {
                damping *= 10;
            }
        }

        // The last step tried may not be the last one taken.
        if (!atShape)
            _model.Evaluate(p, response, from, count);
        int parameters = 0;
        foreach (bool f in free)
            parameters += f ? 1 : 0;
        double reduced = samples > parameters ? DataChiSquare(light) / independent * samples / (samples - parameters) : double.NaN;

        // The light may be better or worse than its noise says, what is known beforehand is as good as it says.
        float perReduced = (float)(1 / Math.Max(reduced, 1e-12));
        for (int i = 0; i < _model.Count; i++)
            _weights[i] *= perReduced;
        Accumulate(light, p, start, known, free);
        double u = Math.Sqrt(SmallSystem.InverseDiagonal(_normal, free, StreakProfile.HalfLength));
        double sigma = free[StreakProfile.Sigma] ? SmallSystem.InverseDiagonal(_normal, free, StreakProfile.Sigma) : double.NaN;
        double phase = Math.Sqrt(SmallSystem.InverseDiagonal(_normal, free, StreakProfile.Start));
        p = p with { StartRad = ArcWeights.Wrap(p.StartRad) };
        return new ProfileFit(p, u, Math.Sqrt(sigma), reduced, phase, converged && double.IsFinite(u));
    }

    // Products of single precision are exact in double, in which they are added.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static double Dot(ReadOnlySpan<float> a, ReadOnlySpan<float> b)
    {
        Vector256<double> low = Vector256<double>.Zero, high = low;
        int i = 0;
        for (; i + Vector256<float>.Count <= a.Length; i += Vector256<float>.Count)
        {
            (Vector256<double> lowA, Vector256<double> highA) = Vector256.Widen(Vector256.Create(a[i..]));
            (Vector256<double> lowB, Vector256<double> highB) = Vector256.Widen(Vector256.Create(b[i..]));
            low += lowA * lowB;
            high += highA * highB;
        }

        double sum = Vector256.Sum(low + high);
        for (; i < a.Length; i++)
            sum += a[i] * (double)b[i];
        return sum;
    }

    private static StreakShape Step(in StreakShape p, ReadOnlySpan<double> step)
    {
        // Steps of more than a spot, or through zero, are shortened: the model repeats itself for negative half lengths.
        double limit = 1.5 * p.SigmaPx;
        return p with
        {
            HalfLengthPx = Math.Max(p.HalfLengthPx + Math.Clamp(step[StreakProfile.HalfLength], -limit, limit), 0.02 * p.SigmaPx),
            CentrePx = p.CentrePx + Math.Clamp(step[StreakProfile.Centre], -limit, limit),
            Light = Math.Max(p.Light + step[StreakProfile.Light], 0.1 * p.Light),
            Background = p.Background + step[StreakProfile.Background],
            StartRad = p.StartRad + Math.Clamp(step[StreakProfile.Start], -0.5, 0.5),
            SigmaPx = Math.Clamp(p.SigmaPx + step[StreakProfile.Sigma], 0.7 * p.SigmaPx, 1.4 * p.SigmaPx),
            Periods = Math.Max(p.Periods + Math.Clamp(step[StreakProfile.Periods], -0.2, 0.2), 0.02),
            RowPhaseRadPerPx = p.RowPhaseRadPerPx + step[StreakProfile.RowPhase],
        };
    }

    // Weights stay where the first guess put them, so that chi-squares of different steps compare. Neighbours that share their noise count as one,
    // so that what is known beforehand has the weight beside them that is due to it. Returns the samples, and how many are independent.
    private (int Samples, double Independent) SetWeights(ReadOnlySpan<float> light, in ProfileNoise noise, double background)
    {
        if (_weights.Length < _model.Count)
        {
            _weights = new float[_model.Count];
            _residuals = new float[_model.Count];
            _weighted = new float[_model.Count];
        }

        int samples = 0;
        double peak = 0;
        for (int i = 0; i < _model.Count; i++)
            peak = Math.Max(peak, _model.Values[i] - background);

        // The spot's far tails, glare and what a codec leaves of them are not known better than this share of the peak.
        double tails = TailSd * peak * (TailSd * peak);
        for (int i = 0; i < _model.Count; i++)
        {
            if (float.IsNaN(light[_model.From + i]))
            {
                _weights[i] = 0;
                continue;
            }

            _weights[i] = (float)(1 / ((noise.Variance(_model.Values[i] - background) + tails) * noise.CorrelationLengthPx));
            samples++;
        }

        return (samples, samples / noise.CorrelationLengthPx);
    }

    private double ChiSquare(ReadOnlySpan<float> light, in StreakShape p, in StreakShape start, in ProfileConstraints known)
    {
        return DataChiSquare(light) + Square(PhaseDeparture(p, start), known.MidPhaseSdRad) + Square(p.CentrePx - known.CentrePx, known.CentreSdPx)
            + Square(p.Light - known.Light, known.LightSd)
            + Square(p.SigmaPx - start.SigmaPx, known.SigmaSdPx) + Square(p.Periods - start.Periods, known.PeriodsSd)
            + Square(p.RowPhaseRadPerPx - start.RowPhaseRadPerPx, known.RowPhaseSdRadPerPx);

        static double Square(double departure, double sd) => sd > 0 && double.IsFinite(sd) ? departure * departure / (sd * sd) : 0;
    }

    // Of the model as it was evaluated last.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private double DataChiSquare(ReadOnlySpan<float> light)
    {
        double chi = 0;
        for (int i = 0; i < _model.Count; i++)
        {
            float weight = _weights[i];
            if (weight == 0)
                continue;
            float residual = light[_model.From + i] - _model.Values[i];
            chi += weight * residual * residual;
        }

        return chi;
    }

    private static double PhaseDeparture(in StreakShape p, in StreakShape start) =>
        p.StartRad - start.StartRad + (Math.PI * (p.Periods - start.Periods));

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void Accumulate(
        ReadOnlySpan<float> light, in StreakShape p, in StreakShape start, in ProfileConstraints known, ReadOnlySpan<bool> free)
    {
        const int n = StreakProfile.ParameterCount;
        Array.Clear(_normal);
        Array.Clear(_right);
        int count = _model.Count;
        Span<float> residuals = _residuals.AsSpan(0, count), weighted = _weighted.AsSpan(0, count);
        for (int i = 0; i < count; i++)
            residuals[i] = _weights[i] == 0 ? 0 : light[_model.From + i] - _model.Values[i];
        for (int a = 0; a < n; a++)
        {
            if (!free[a])
                continue;
            for (int i = 0; i < count; i++)
                weighted[i] = _weights[i] * _model.Derivatives[a][i];
            _right[a] = Dot(weighted, residuals);
            for (int b = 0; b <= a; b++)
            {
                if (free[b])
                    _normal[(a * n) + b] = Dot(weighted, _model.Derivatives[b]);
            }
        }

        // The phase at mid-exposure is the start's and half of the exposure.
        double phaseWeight = 1 / (known.MidPhaseSdRad * known.MidPhaseSdRad), departed = PhaseDeparture(p, start) * phaseWeight;
        _normal[(StreakProfile.Start * n) + StreakProfile.Start] += phaseWeight;
        _normal[(StreakProfile.Periods * n) + StreakProfile.Start] += Math.PI * phaseWeight;
        _normal[(StreakProfile.Periods * n) + StreakProfile.Periods] += Math.PI * Math.PI * phaseWeight;
        _right[StreakProfile.Start] -= departed;
        _right[StreakProfile.Periods] -= Math.PI * departed;
        Prior(StreakProfile.Centre, p.CentrePx - known.CentrePx, known.CentreSdPx);
        Prior(StreakProfile.Light, p.Light - known.Light, known.LightSd);
        Prior(StreakProfile.Sigma, p.SigmaPx - start.SigmaPx, known.SigmaSdPx);
        Prior(StreakProfile.Periods, p.Periods - start.Periods, known.PeriodsSd);
        Prior(StreakProfile.RowPhase, p.RowPhaseRadPerPx - start.RowPhaseRadPerPx, known.RowPhaseSdRadPerPx);

        void Prior(int parameter, double departure, double sd)
        {
            if (!(sd > 0) || !double.IsFinite(sd))
                return;
            _normal[(parameter * n) + parameter] += 1 / (sd * sd);
            _right[parameter] -= departure / (sd * sd);
        }
    }
}
