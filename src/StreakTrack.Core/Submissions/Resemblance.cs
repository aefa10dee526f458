namespace StreakTrack.Core.Submissions;

/// <summary>How alike the fingerprints of two clips are.</summary>
public static class Resemblance
{
    /// <summary>Correlation of two fingerprints from which a copy is hinted at: copies at the quality of messengers stay above 0.99, different
    /// clips of the same kind of ruler were seen to reach 0.88.</summary>
    public const double Copy = 0.97;

    /// <summary>Correlation of two fingerprints of equal length and unit sum of squares; 0 where one is missing.</summary>
    public static double Of(IReadOnlyList<double> a, IReadOnlyList<double> b) => a.Count == b.Count ? a.Zip(b, (x, y) => x * y).Sum() : 0;
}
