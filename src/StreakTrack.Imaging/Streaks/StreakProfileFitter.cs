namespace StreakTrack.Imaging.Streaks;

/// <summary>Fits <see cref="StreakProfile"/> to the brightness along a strip, around the two ends.</summary>
/// <remarks>One object belongs to one thread; its arrays are reused.</remarks>
internal sealed class StreakProfileFitter
{
    private const int MaxIterations = 30;

    /// <summary>How far the fit looks inward and outward of an end, in sigma. Inside, only the stretch whose shape the end's place decides;
    /// outside, enough to see the background.</summary>
    private const double InnerReach = 6, OuterReach = 6;

    /// <summary>Speckle and the ruler's texture disturb the light in proportion to it. The figure weighs bright against dark samples
    /// only; the uncertainty is scaled by the residuals.</summary>
    private const double RelativeDisturbance = 0.05;

    private readonly double[] _gradient = new double[StreakProfile.ParameterCount];
    private readonly List<int> _places = [];
    private readonly List<double> _weights = [];

    /// <summary>Fits one profile.</summary>
    /// <param name="light">Laser light along the strip; NaN where there is none to be had.</param>
    /// <param name="noise">Standard deviation of one sample far from the streak.</param>
    /// <param name="start">First guess; its sigma is kept unless <paramref name="freeSigma"/>.</param>
    /// <param name="freeSigma">Whether sigma is fitted too.</param>
    public StreakProfileFit Fit(ReadOnlySpan<float> light, double noise, StreakProfileParameters start, bool freeSigma)
    {
        int count = freeSigma ? 6 : 5;
        StreakProfileParameters p = start;
        double[] nodes = StreakProfile.Nodes(p.HalfLengthPx, p.SigmaPx);
        double[,] normal = new double[count, count];
        double[] right = new double[count], step = new double[count];
        double damping = 1e-3;
        SetWindows(light, noise, start, nodes);
        double chi = Accumulate(light, p, nodes, normal, right);
        bool converged = false;
        for (int iteration = 0; iteration < MaxIterations && !converged; iteration++)
        {
            if (!TrySolve(normal, right, damping, step))
                break;
            StreakProfileParameters trial = Step(p, step, freeSigma);
            double[] trialNodes = StreakProfile.Nodes(trial.HalfLengthPx, trial.SigmaPx);
            double[,] trialNormal = new double[count, count];
            double[] trialRight = new double[count];
            double trialChi = Accumulate(light, trial, trialNodes, trialNormal, trialRight);
            if (trialChi <= chi)
            {
                converged = Math.Abs(step[0]) < 1e-4 && Math.Abs(step[1]) < 1e-4 && chi - trialChi < 1e-6 * chi;
                (p, chi, normal, right) = (trial, trialChi, trialNormal, trialRight);
                damping = Math.Max(damping / 10, 1e-9);
            }
            else if (damping > 1e6)
            {
                // Not even a tiny step downhill improves: this is the minimum to the precision of the sums.
                converged = true;
            }
            else
            {
                damping *= 10;
            }
        }

        double reduced = _places.Count > count ? chi / (_places.Count - count) : double.NaN;
        double variance = InverseDiagonal(normal, 1);

        // The optics and the codec blur noise over about one spot width, so neighbouring samples are not independent: the effective
        // number of samples is smaller by about the noise's correlation length, taken as that of the spot.
        double correlation = Math.Max(1, 2 * Math.Sqrt(Math.PI) * p.SigmaPx / 2);
        double u = Math.Sqrt(variance * Math.Max(reduced, 1e-12) * correlation);
        return new StreakProfileFit(p, u, reduced, converged && double.IsFinite(u));
    }

    private static StreakProfileParameters Step(in StreakProfileParameters p, double[] step, bool freeSigma)
    {
        // Steps of more than a spot, or through zero, are shortened: the model repeats itself for negative half lengths.
        double limit = 2 * p.SigmaPx;
        double half = p.HalfLengthPx + Math.Clamp(step[1], -limit, limit);
        return p with
        {
            CentrePx = p.CentrePx + Math.Clamp(step[0], -limit, limit),
            HalfLengthPx = Math.Max(half, 0.05 * p.SigmaPx),
            FirstBrightness = p.FirstBrightness + step[2],
            SecondBrightness = p.SecondBrightness + step[3],
            Background = p.Background + step[4],
            SigmaPx = freeSigma ? Math.Clamp(p.SigmaPx + step[5], 0.7 * p.SigmaPx, 1.4 * p.SigmaPx) : p.SigmaPx,
        };
    }

    // Windows and weights stay where the first guess put them, so that chi-squares of different steps compare.
    private void SetWindows(ReadOnlySpan<float> light, double noise, in StreakProfileParameters start, double[] nodes)
    {
        _places.Clear();
        _weights.Clear();
        double firstEnd = start.CentrePx - start.HalfLengthPx, secondEnd = start.CentrePx + start.HalfLengthPx;
        double inner = InnerReach * start.SigmaPx, outer = OuterReach * start.SigmaPx;
        int from = Math.Max(0, (int)Math.Ceiling(firstEnd - outer)), to = Math.Min(light.Length - 1, (int)Math.Floor(secondEnd + outer));
        for (int i = from; i <= to; i++)
        {
            if ((i > firstEnd + inner && i < secondEnd - inner) || float.IsNaN(light[i]))
                continue;
            double signal = RelativeDisturbance * (StreakProfile.Evaluate(i, start, nodes, _gradient) - start.Background);
            _places.Add(i);
            _weights.Add(1 / ((noise * noise) + (signal * signal)));
        }
    }

    private double Accumulate(ReadOnlySpan<float> light, in StreakProfileParameters p, double[] nodes, double[,] normal, double[] right)
    {
        int count = right.Length;
        double chi = 0;
        for (int k = 0; k < _places.Count; k++)
        {
            int place = _places[k];
            double weight = _weights[k];
            double residual = light[place] - StreakProfile.Evaluate(place, p, nodes, _gradient);
            chi += weight * residual * residual;
            for (int a = 0; a < count; a++)
            {
                right[a] += weight * _gradient[a] * residual;
                for (int b = 0; b <= a; b++)
                    normal[a, b] += weight * _gradient[a] * _gradient[b];
            }
        }

        for (int a = 0; a < count; a++)
        {
            for (int b = a + 1; b < count; b++)
                normal[a, b] = normal[b, a];
        }

        return chi;
    }

    private static bool TrySolve(double[,] normal, double[] right, double damping, double[] solution)
    {
        int n = right.Length;
        double[,] lower = new double[n, n];
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j <= i; j++)
            {
                double sum = normal[i, j] * (i == j ? 1 + damping : 1);
                for (int k = 0; k < j; k++)
                    sum -= lower[i, k] * lower[j, k];
                if (i == j)
                {
                    if (!(sum > 0))
                        return false;
                    lower[i, i] = Math.Sqrt(sum);
                }
                else
                {
                    lower[i, j] = sum / lower[j, j];
                }
            }
        }

        for (int i = 0; i < n; i++)
        {
            double sum = right[i];
            for (int k = 0; k < i; k++)
                sum -= lower[i, k] * solution[k];
            solution[i] = sum / lower[i, i];
        }

        for (int i = n - 1; i >= 0; i--)
        {
            double sum = solution[i];
            for (int k = i + 1; k < n; k++)
                sum -= lower[k, i] * solution[k];
            solution[i] = sum / lower[i, i];
        }

        return true;
    }

    private static double InverseDiagonal(double[,] normal, int index)
    {
        double[] unit = new double[normal.GetLength(0)], column = new double[unit.Length];
        unit[index] = 1;
        return TrySolve(normal, unit, 0, column) ? column[index] : double.NaN;
    }
}
