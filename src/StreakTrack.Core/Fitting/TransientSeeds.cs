namespace StreakTrack.Core.Fitting;

/// <summary>Starting values of the transient: decay times and detunings near which its sum of squares has its deepest minima.</summary>
/// <remarks>
/// The square of the envelope is linear in four numbers once tau and the detuning are given:
/// A^2 = z1^2 + |d|^2 e^2 + 2 z1 e (Re d cos ws - Im d sin ws), with d = z0 - z1 and e = exp(-s/tau). So a grid over those two and a linear
/// regression at each node is a spectrum of the beats that allows for their decay. Normal equations are good enough for starting values.
/// </remarks>
internal static class TransientSeeds
{
    private const int MostPoints = 240;
    private const int MostDetunings = 300;
    private const int Terms = 4;

    /// <summary>A start: the five parameters of the general form with s counted from the first point.</summary>
    public readonly record struct Seed(double Tau, double Detuning, double Level, double InPhase, double Quadrature);

    /// <summary>The best starts, the best first.</summary>
    /// <param name="points">The points.</param>
    /// <param name="first">The first point after the switch.</param>
    /// <param name="count">Most starts wanted.</param>
    /// <param name="cancellationToken">Ends the work.</param>
    public static IReadOnlyList<Seed> Find(FitPoints points, int first, int count, CancellationToken cancellationToken)
    {
        int available = points.Count - first;
        int stride = (available + MostPoints - 1) / MostPoints;
        int[] used = [.. Enumerable.Range(0, (available + stride - 1) / stride).Select(i => first + i * stride)];
        int n = used.Length;
        if (n <= Terms)
            return [];
        double[] s = [.. used.Select(i => points.Times[i] - points.Times[first])];
        double highestSquare = used.Max(i => points.Amplitudes[i] * points.Amplitudes[i]);
        double[] squares = [.. used.Select(i => points.Amplitudes[i] * points.Amplitudes[i] / highestSquare)];
        double length = s[^1];

        // A tenth of a beat in the record is the least that can show; half the rate of the points the most.
        double lowest = 0.1 / length;
        double step = 0.3 / length;
        int detunings = (int)Math.Clamp((0.5 * n / length - lowest) / step, 1, MostDetunings);
        double[] taus = [.. Enumerable.Range(0, 14).Select(i => length * 0.04 * Math.Pow(1.45, i))];
        double[][] decays = [.. taus.Select(tau => s.Select(time => Math.Exp(-time / tau)).ToArray())];

        var best = new (double Sum, Seed Seed)[detunings];
        double[] cos = new double[n], sin = new double[n];
        Span<double> matrix = stackalloc double[Terms * (Terms + 1)];
        for (int b = 0; b < detunings; b++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            double detuning = lowest + b * step;
            for (int i = 0; i < n; i++)
                (sin[i], cos[i]) = Math.SinCos(2 * Math.PI * detuning * s[i]);
            best[b].Sum = double.PositiveInfinity;
            for (int a = 0; a < taus.Length; a++)
            {
                double sum = Regress(decays[a], cos, sin, squares, matrix);
                if (!(sum < best[b].Sum))
                    continue;
                double level = Math.Sqrt(Math.Max(matrix[Terms], 1e-6));
                double unit = Math.Sqrt(highestSquare);
                best[b] = (sum, new Seed(
                    taus[a], detuning, unit * level, unit * (level + matrix[2 * (Terms + 1) + Terms] / (2 * level)),
                    unit * matrix[3 * (Terms + 1) + Terms] / (2 * level)));
            }
        }

        return
        [
            .. Enumerable.Range(0, detunings)
                .Where(b => double.IsFinite(best[b].Sum) && (b == 0 || best[b].Sum <= best[b - 1].Sum)
                    && (b == detunings - 1 || best[b].Sum <= best[b + 1].Sum))
                .OrderBy(b => best[b].Sum).Take(count).Select(b => best[b].Seed),
        ];
    }

    /// <summary>Solves the normal equations in place, the solution in the last column, and returns the sum of squares.</summary>
    private static double Regress(double[] e, double[] cos, double[] sin, double[] y, Span<double> m)
    {
        const int width = Terms + 1;
        m.Clear();
        double yy = 0;
        Span<double> basis = stackalloc double[width];
        for (int i = 0; i < y.Length; i++)
        {
            basis[0] = 1;
            basis[1] = e[i] * e[i];
            basis[2] = e[i] * cos[i];
            basis[3] = -e[i] * sin[i];
            basis[4] = y[i];
            yy += y[i] * y[i];
            for (int r = 0; r < Terms; r++)
            {
                for (int c = r; c < width; c++)
                    m[r * width + c] += basis[r] * basis[c];
            }
        }

        Span<double> right = stackalloc double[Terms];
        for (int r = 0; r < Terms; r++)
        {
            right[r] = m[r * width + Terms];
            for (int c = 0; c < r; c++)
                m[r * width + c] = m[c * width + r];
        }

        for (int k = 0; k < Terms; k++)
        {
            double pivot = m[k * width + k];
            if (!(pivot > 1e-11 * y.Length))
                return double.PositiveInfinity;
            for (int r = 0; r < Terms; r++)
            {
                if (r == k)
                    continue;
                double factor = m[r * width + k] / pivot;
                for (int c = k; c < width; c++)
                    m[r * width + c] -= factor * m[k * width + c];
            }
        }

        double explained = 0;
        for (int r = 0; r < Terms; r++)
        {
            m[r * width + Terms] /= m[r * width + r];
            explained += m[r * width + Terms] * right[r];
        }

        return yy - explained;
    }
}
