namespace StreakTrack.Core.Fitting;

/// <summary>
/// Looks over all places of a switch and many decay times at once: a constant before, an exponential onto a constant after.
/// </summary>
/// <remarks>
/// For each decay time of a grid the sums of a straight regression on exp(-s/tau) are carried backwards through the series, so that the
/// sum of squares of every tail is known after one pass. Only starting values come from here; every number reported comes from the fit
/// proper.
/// </remarks>
internal sealed class ExponentialScan
{
    private const int GridSize = 48;

    /// <summary>Fewest points that make a steady part.</summary>
    private const int FewestBefore = 3;

    private const int FewestAfter = 5;

    /// <summary>With more points than this every so-manieth is looked at; starting values need no more.</summary>
    private const int MostPoints = 4000;

        private readonly double _ratio;
    private readonly double[] _tailSum;
    private readonly double[] _tailTau;

    public ExponentialScan(FitPoints points)
    {
        Stride = (points.Count + MostPoints - 1) / MostPoints;
        if (Stride > 1)
            points = points.Where(i => i % Stride == 0);
        Points = points;
        int n = points.Count;
        _tailSum = new double[n];
        _tailTau = new double[n];
        Array.Fill(_tailSum, double.PositiveInfinity);
        Array.Fill(_tailTau, points.Spacing);
        double length = points.Times[n - 1] - points.Times[0];
        double shortest = Math.Max(points.Spacing, length / (4.0 * n));
        _ratio = Math.Pow(20 * length / shortest, 1.0 / (GridSize - 1));
        double mean = points.Amplitudes.Average();
        double tau = shortest;
        for (int g = 0; g < GridSize; g++, tau *= _ratio)
            ScanTails(tau, mean);
    }

    /// <summary>How many points handed in stand for each that is looked at.</summary>
    public int Stride { get; }

    /// <summary>The points looked at.</summary>
    public FitPoints Points { get; }

    /// <summary>
    /// The best place of the switch when there is a steady part: the number of points before it; 0 when none is worth trying.
    /// </summary>
    public int BestBefore() => Places().Best;

    /// <summary>All places of the switch.</summary>
    /// <returns>
    /// The best number of points before it, 0 when none is worth trying; and the sum of squares for each number of the points looked at
    /// before it, infinite where there are too few on one side.
    /// </returns>
    public (int Best, double[] Sums) Places()
    {
        int n = Points.Count;
        double[] sums = new double[n];
        Array.Fill(sums, double.PositiveInfinity);
        int best = 0;
        double weight = 0, mean = 0, sum = 0;
        for (int k = 1; k <= n - FewestAfter; k++)
        {
            double y = Points.Amplitudes[k - 1];
            double w = 1 / (Points.Sigmas[k - 1] * Points.Sigmas[k - 1]);
            weight += w;
            double delta = y - mean;
            mean += delta * w / weight;
            sum += w * delta * (y - mean);
            if (k < FewestBefore)
                continue;
            sums[k] = sum + _tailSum[k];
            if (best == 0 || sums[k] < sums[best])
                best = k;
        }

        // The grid of decay times is coarse beside a quiet series, so the two that are held against each other are refined. The steady part
        // costs its level, its end and the search for it, each ln n after Schwarz's criterion; for less it is not worth a fit.
        if (best == 0)
            return (0, sums);
        double before = sums[best] - _tailSum[best];
        double undivided = Refined(0).Sum, divided = before + Refined(best).Sum;
        return (n * Math.Log(undivided / divided) > 3 * Math.Log(n) ? best * Stride : 0, sums);
    }

    /// <summary>The exponential that fits best from a point on: y = constant + size exp(-(t - t_first)/tau).</summary>
    /// <param name="first">The first point.</param>
    /// <param name="withConstant">False to hold the constant at 0.</param>
    public (double Tau, double Size, double Constant) Tail(int first, bool withConstant)
    {
        first = Math.Min((first + Stride - 1) / Stride, Points.Count - 2);
        if (withConstant)
        {
            (double tau, double sizeAtFirst, double constant, _) = Refined(first);
            return (tau, sizeAtFirst, constant);
        }

        double bestTau = _tailTau[first], bestSum = double.PositiveInfinity, bestSize = 0;
        double length = Points.Times[^1] - Points.Times[first];
        for (double tau = length / 50; tau < 50 * length; tau *= 1.25)
        {
            (double size, _, double sum) = Regress(first, tau, false);
            if (sum < bestSum)
                (bestTau, bestSum, bestSize) = (tau, sum, size);
        }

        return (bestTau, bestSize, 0);
    }

    /// <summary>The best exponential of a tail, its decay time searched for between the neighbours on the grid.</summary>
    private (double Tau, double Size, double Constant, double Sum) Refined(int first)
    {
        double low = Math.Log(_tailTau[first]) - Math.Log(_ratio), high = low + 2 * Math.Log(_ratio);
        for (int i = 0; i < 12; i++)
        {
            double a = low + (high - low) * 0.382, b = low + (high - low) * 0.618;
            if (Regress(first, Math.Exp(a), true).Sum < Regress(first, Math.Exp(b), true).Sum)
                high = b;
            else
                low = a;
        }

        double tau = Math.Exp((low + high) / 2);
        (double size, double constant, double sum) = Regress(first, tau, true);
        return (tau, size, constant, sum);
    }

    private (double Size, double Constant, double Sum) Regress(int first, double tau, bool withConstant)
    {
        // Sums of squares are differences here; about the last value less is lost.
        double shift = withConstant ? Points.Amplitudes[^1] : 0;
        double s0 = 0, se = 0, see = 0, sy = 0, sey = 0, syy = 0;
        for (int i = first; i < Points.Count; i++)
        {
            double w = 1 / (Points.Sigmas[i] * Points.Sigmas[i]);
            double e = Math.Exp(-(Points.Times[i] - Points.Times[first]) / tau);
            double y = Points.Amplitudes[i] - shift;
            s0 += w;
            se += w * e;
            see += w * e * e;
            sy += w * y;
            sey += w * e * y;
            syy += w * y * y;
        }

        double determinant = s0 * see - se * se;
        if (!withConstant || !(determinant > 1e-14 * s0 * see))
            return (sey / see, shift, Math.Max(syy - sey * sey / see, 1e-14 * syy));
        double size = (s0 * sey - se * sy) / determinant;
        double constant = (see * sy - se * sey) / determinant;
        return (size, constant + shift, Math.Max(syy - size * sey - constant * sy, 1e-14 * syy));
    }

    private void ScanTails(double tau, double mean)
    {
        double s0 = 0, se = 0, see = 0, sy = 0, sey = 0, syy = 0;
        int n = Points.Count;
        for (int i = n - 1; i >= 0; i--)
        {
            double fall = i < n - 1 ? Math.Exp(-(Points.Times[i + 1] - Points.Times[i]) / tau) : 1;
            double w = 1 / (Points.Sigmas[i] * Points.Sigmas[i]);
            double y = Points.Amplitudes[i] - mean;
            s0 += w;
            se = se * fall + w;
            see = see * fall * fall + w;
            sy += w * y;
            sey = sey * fall + w * y;
            syy += w * y * y;
            double determinant = s0 * see - se * se;
            if (n - i < FewestAfter || !(determinant > 1e-12 * s0 * see))
                continue;
            double size = (s0 * sey - se * sy) / determinant;
            double constant = (see * sy - se * sey) / determinant;
            double sum = Math.Max(syy - size * sey - constant * sy, 1e-14 * syy);
            if (sum < _tailSum[i])
            {
                _tailSum[i] = sum;
                _tailTau[i] = tau;
            }
        }
    }
}
