namespace StreakTrack.Core.Fitting;

/// <summary>The scatter that points share beside their own uncertainties.</summary>
internal static class CommonScatter
{
    /// <summary>The s at which sum r^2/(u^2 + s^2) equals the degrees of freedom; 0 when it is smaller already.</summary>
    /// <param name="residuals">Residuals r.</param>
    /// <param name="uncertainties">Standard uncertainty u of each.</param>
    /// <param name="degreesOfFreedom">Points minus parameters.</param>
    public static double Of(double[] residuals, double[] uncertainties, int degreesOfFreedom)
    {
        double Excess(double variance)
        {
            double sum = 0;
            for (int i = 0; i < residuals.Length; i++)
                sum += residuals[i] * residuals[i] / (uncertainties[i] * uncertainties[i] + variance);
            return sum - degreesOfFreedom;
        }

        if (degreesOfFreedom < 1 || Excess(0) <= 0)
            return 0;
        double low = 0, high = residuals.Sum(r => r * r) / degreesOfFreedom;
        for (int i = 0; i < 100 && high - low > 1e-12 * high; i++)
        {
            double middle = (low + high) / 2;
            if (Excess(middle) > 0)
                low = middle;
            else
                high = middle;
        }

        return Math.Sqrt((low + high) / 2);
    }
}
