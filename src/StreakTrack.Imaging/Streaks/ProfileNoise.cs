namespace StreakTrack.Imaging.Streaks;

/// <summary>Noise of a profile.</summary>
/// <param name="DarkSd">Standard deviation of a sample without light.</param>
/// <param name="RelativeSd">Part of the standard deviation that is proportional to the light: speckle and the ruler's texture.</param>
/// <param name="CorrelationLengthPx">Number of neighbouring samples that share their noise.</param>
internal readonly record struct ProfileNoise(double DarkSd, double RelativeSd, double CorrelationLengthPx)
{
    /// <summary>Variance of a sample.</summary>
    public double Variance(double light) => (DarkSd * DarkSd) + (RelativeSd * RelativeSd * light * light);

    /// <summary>Standard deviation of the mean of neighbouring samples without light.</summary>
    public double MeanSd(int samples) => DarkSd * Math.Sqrt(Math.Min(1, CorrelationLengthPx / Math.Max(1, samples)));
}
