namespace StreakTrack.Core.Submissions;

/// <summary>How alike two clips are: their pictures and the fine structure of their series.</summary>
/// <param name="Pictures">Correlation of the pictures' fingerprints; 0 where one is missing.</param>
/// <param name="Series">Correlation of the series' fingerprints at the shift where it stands out most; 0 where there is too little.</param>
/// <param name="SeriesSignificance">The latter over its standard deviation for unrelated series.</param>
public sealed record Resemblance(double Pictures, double Series, double SeriesSignificance)
{
    /// <summary>Correlation of two pictures' fingerprints from which a copy is hinted at: copies at the quality of messengers stay above 0.99,
    /// different clips of the same kind of ruler were seen to reach 0.88.</summary>
    public const double CopiedPicture = 0.97;

    /// <summary>Frames that two series must share for a comparison.</summary>
    public const int FewestFrames = 20;

    /// <summary>Correlation of two series below which no significance makes a copy.</summary>
    private const double CopiedSeries = 0.5;

    /// <summary>The largest of some hundred shifts of unrelated series reaches 3.3 standard deviations; with alike pictures 4 are enough, and by
    /// themselves, tried on all pairs of a class, 6.</summary>
    private const double Significant = 4;
    private const double SignificantAlone = 6;

    /// <summary>Whether the fine structure of the series supports what the pictures say.</summary>
    public bool SeriesAlike => Series >= CopiedSeries && SeriesSignificance >= Significant;

    /// <summary>Whether a copy is hinted at.</summary>
    public bool IsHint => Pictures >= CopiedPicture || (Series >= CopiedSeries && SeriesSignificance >= SignificantAlone);

    /// <summary>Compares two judged clips.</summary>
    public static Resemblance Of(Judgement one, Judgement other)
    {
        ArgumentNullException.ThrowIfNull(one);
        ArgumentNullException.ThrowIfNull(other);
        double pictures = one.Trace.Count == other.Trace.Count ? one.Trace.Zip(other.Trace, (x, y) => x * y).Sum() : 0;
        (double series, double significance) = BestShift([.. one.SeriesTrace], [.. other.SeriesTrace]);
        return new Resemblance(pictures, series, significance);
    }

    private static (double Correlation, double Significance) BestShift(double[] a, double[] b)
    {
        double half = Math.Min(a.Count(x => x != 0), b.Count(x => x != 0)) / 2.0;
        (double Correlation, double Significance) best = (0, 0);
        for (int shift = FewestFrames - b.Length; shift <= a.Length - FewestFrames; shift++)
        {
            double aa = 0, bb = 0, ab = 0;
            int frames = 0;
            for (int i = Math.Max(0, shift); i < Math.Min(a.Length, shift + b.Length); i++)
            {
                if (a[i] == 0 || b[i - shift] == 0)
                    continue;
                aa += a[i] * a[i];
                bb += b[i - shift] * b[i - shift];
                ab += a[i] * b[i - shift];
                frames++;
            }

            if (frames < Math.Max(FewestFrames, half))
                continue;
            double correlation = ab / Math.Sqrt(aa * bb), significance = correlation * Math.Sqrt(frames);
            if (significance > best.Significance)
                best = (correlation, significance);
        }

        return best;
    }
}
