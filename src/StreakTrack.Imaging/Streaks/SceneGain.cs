using System.Runtime.CompilerServices;

namespace StreakTrack.Imaging.Streaks;

/// <summary>How bright a strip's scene is against another picture of it.</summary>
internal static class SceneGain
{
    /// <summary>Contrast between samples a few px apart, in linear light, below which a scene is too dark to tell.</summary>
    private const double DarkContrast = 0.003;

    private const int Apart = 3;

    /// <summary>Least squares of the contrast along the strip, which glare does not have; drawn to 1 where the scene is too dark to
    /// tell.</summary>
    /// <param name="strip">Samples of the strip, row by row.</param>
    /// <param name="reference">The same in another frame.</param>
    /// <param name="use">Rows to use: those beside the streak.</param>
    /// <param name="length">Samples of a row.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public static double Of(ReadOnlySpan<float> strip, ReadOnlySpan<float> reference, ReadOnlySpan<bool> use, int length)
    {
        double product = 0, squares = 0;
        int samples = 0;
        for (int j = 0; j < use.Length; j++)
        {
            if (!use[j])
                continue;
            ReadOnlySpan<float> row = strip.Slice(j * length, length), dark = reference.Slice(j * length, length);
            for (int i = Apart; i < row.Length; i += 2)
            {
                float d = dark[i] - dark[i - Apart], v = row[i] - row[i - Apart];
                if (float.IsNaN(d) || float.IsNaN(v))
                    continue;
                product += v * d;
                squares += d * d;
                samples++;
            }
        }

        double prior = samples * DarkContrast * DarkContrast;
        return samples == 0 ? 1 : (product + prior) / (squares + prior);
    }
}
