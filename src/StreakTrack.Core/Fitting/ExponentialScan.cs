namespace StreakTrack.Core.Fitting;

/// <summary>Looks over all places of a switch and many decay times at once: a constant before, an exponential onto a constant after.</summary>
/// <remarks>
/// For each decay time of a grid the sums of a straight regression on exp(-s/tau) are carried backwards through the series, so that the
/// sum of squares of every tail is known after one pass. Only starting values come from here; every number reported comes from the fit proper.
/// </remarks>
internal sealed class ExponentialScan
{
    private const int GridSize = 48;

    /// <summary>Fewest points that make a steady part.</summary>
    private const int FewestBefore = 3;

    private const int FewestAfter = 5;

    private readonly FitPoints _points;
    private readonly double[] _tailSum;
    private readonly double[] _tailTau;

    public ExponentialScan(FitPoints points)
    {
        _points = points;
        int n = points.Count;
        _tailSum = new double[n];
        _tailTau = new double[n];
        Array.Fill(_tailSum, double.PositiveInfinity);
        double length = points.Times[n - 1] - points.Times[0];
        double shortest = Math.Max(points.Spacing, length / (4.0 * n));
        double ratio = Math.Pow(20 * length / shortest, 1.0 / (GridSize - 1));
        double mean = points.Amplitudes.Average();
        double tau = shortest;
        for (int g = 0; g < GridSize; g++, tau *= ratio)
            ScanTails(tau, mean);
    }

    /// <summary>The best place of the switch when there is a steady part: the number of points before it; 0 when none is worth trying.</summary>
    public int BestBefore() => Places().Best;

    /// <summary>All places of the switch.</summary>
    /// <returns>
    /// The best number of points before it, 0 when none is worth trying; and the sum of squares for each number of points before it, infinite
    /// where there are too few on one side.
    /// </returns>
    public (int Best, double[] Sums) Places()
    {
        int n = _points.Count;
        double[] sums = new double[n];
        Array.Fill(sums, double.PositiveInfinity);
        int best = 0;
        double weight = 0, mean = 0, sum = 0;
        for (int k = 1; k <= n - FewestAfter; k++)
        {
            double y = _points.Amplitudes[k - 1];
            double w = 1 / (_points.Sigmas[k - 1] * _points.Sigmas[k - 1]);
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

        // The steady part costs its level, its end and the search for it; at less than that it is not worth a fit.
        bool worth = best > 0 && sums[best] < _tailSum[0] * Math.Exp(-6.0 / n);
        return (worth ? best : 0, sums);
    }

    /// <summary>The exponential that fits best from a point on: y = constant + size exp(-(t - t_first)/tau).</summary>
    /// <param name="first">The first point.</param>
    /// <param name="withConstant">False to hold the constant at 0.</param>
    public (double Tau, double Size, double Constant) Tail(int first, bool withConstant)
    {
        if (withConstant)
        {
            (double size, double constant, _) = Regress(first, _tailTau[first], true);
            return (_tailTau[first], size, constant);
        }

        double bestTau = _tailTau[first], bestSum = double.PositiveInfinity, bestSize = 0;
        double length = _points.Times[^1] - _points.Times[first];
        for (double tau = length / 50; tau < 50 * length; tau *= 1.25)
        {
            (double size, _, double sum) = Regress(first, tau, false);
            if (sum < bestSum)
                (bestTau, bestSum, bestSize) = (tau, sum, size);
        }

        return (bestTau, bestSize, 0);
    }

    private (double Size, double Constant, double Sum) Regress(int first, double tau, bool withConstant)
    {
        double s0 = 0, se = 0, see = 0, sy = 0, sey = 0, syy = 0;
        for (int i = first; i < _points.Count; i++)
        {
            double w = 1 / (_points.Sigmas[i] * _points.Sigmas[i]);
            double e = Math.Exp(-(_points.Times[i] - _points.Times[first]) / tau);
            double y = _points.Amplitudes[i];
            s0 += w;
            se += w * e;
            see += w * e * e;
            sy += w * y;
            sey += w * e * y;
            syy += w * y * y;
        }

        double determinant = s0 * see - se * se;
        if (!withConstant || !(determinant > 1e-14 * s0 * see))
            return (sey / see, 0, syy - sey * sey / see);
        double size = (s0 * sey - se * sy) / determinant;
        double constant = (see * sy - se * sey) / determinant;
        return (size, constant, syy - size * sey - constant * sy);
    }

    private void ScanTails(double tau, double mean)
    {
        double s0 = 0, se = 0, see = 0, sy = 0, sey = 0, syy = 0;
        int n = _points.Count;
        for (int i = n - 1; i >= 0; i--)
        {
            double fall = i < n - 1 ? Math.Exp(-(_points.Times[i + 1] - _points.Times[i]) / tau) : 1;
            double w = 1 / (_points.Sigmas[i] * _points.Sigmas[i]);
            double y = _points.Amplitudes[i] - mean;
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
