namespace StreakTrack.Imaging.Streaks;

/// <summary>Frames that show the picture of the frame before once more, as a camera or converter puts in to keep up a rate.</summary>
/// <remarks>Noise makes two pictures differ, and the streak's phase more so; what a codec makes of a picture shown twice differs hardly or
/// not at all.</remarks>
internal static class RepeatedPictures
{
    /// <summary>Frames on either side that tell what a change from picture to picture usually is.</summary>
    private const int Reach = 15;

    /// <summary>Share of the usual change below which a picture counts as repeated.</summary>
    private const double LeastChange = 0.15;

    /// <summary>Share of the frames up to which pictures are alike by chance, when the swing's phase or its mirror image comes back and
    /// the codec has smoothed the noise away. So few could not bend a decay either: each is late by one frame.</summary>
    private const double ByChance = 0.08;

    /// <summary>Judges the frames.</summary>
    /// <param name="changes">Difference of each frame's profile from that of the frame before; NaN for the first.</param>
    /// <returns>One entry a frame: whether it shows the picture of the one before.</returns>
    public static bool[] Of(IReadOnlyList<double> changes)
    {
        bool[] repeated = new bool[changes.Count];
        for (int k = 1; k < repeated.Length; k++)
        {
            // Of the frames around, the upper quartile: up to three in four may be repeated themselves.
            double[] near =
            [
                .. Enumerable.Range(Math.Max(1, k - Reach), Math.Min(repeated.Length - 1, k + Reach) - Math.Max(1, k - Reach) + 1)
                    .Select(n => changes[n]).Where(double.IsFinite).Order(),
            ];
            repeated[k] = near.Length > Reach / 2 && changes[k] < LeastChange * near[3 * near.Length / 4];
        }

        return repeated.Count(r => r) > ByChance * repeated.Length ? repeated : new bool[repeated.Length];
    }
}
