using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace StreakTrack.Imaging.Streaks;

/// <summary>How bright a strip's scene is against another picture of it.</summary>
internal static class SceneGain
{
    /// <summary>Contrast between samples a few px apart, in linear light, below which a scene is too dark to tell.</summary>
    private const double DarkContrast = 0.003;

    private const int Apart = 3;

    // Every other sample: neighbours share most of their noise.
    private static readonly Vector256<float> Alternate = Vector256.Create(-1, 0, -1, 0, -1, 0, -1, 0).AsSingle();

    /// <summary>Least squares of the contrast along the strip, which glare does not have; drawn to 1 where the scene is too dark to
    /// tell.</summary>
    /// <param name="strip">Samples of the strip, row by row.</param>
    /// <param name="reference">The same in another frame.</param>
    /// <param name="use">Rows to use: those beside the streak.</param>
    /// <param name="length">Samples of a row.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public static double Of(ReadOnlySpan<float> strip, ReadOnlySpan<float> reference, ReadOnlySpan<bool> use, int length)
    {
        double product = 0, squares = 0, samples = 0;
        for (int j = 0; j < use.Length; j++)
        {
            if (!use[j])
                continue;
            ReadOnlySpan<float> row = strip.Slice(j * length, length), dark = reference.Slice(j * length, length);

            // A row has too few samples for single precision to matter; rows are added in double.
            Vector256<float> products = Vector256<float>.Zero, ofDark = products, counts = products;
            ref float values = ref MemoryMarshal.GetReference(row), references = ref MemoryMarshal.GetReference(dark);
            int i = Apart;
            for (; i + Vector256<float>.Count <= length; i += Vector256<float>.Count)
            {
                nuint here = (nuint)i, before = (nuint)(i - Apart);
                Vector256<float> d = Vector256.LoadUnsafe(ref references, here) - Vector256.LoadUnsafe(ref references, before);
                Vector256<float> v = Vector256.LoadUnsafe(ref values, here) - Vector256.LoadUnsafe(ref values, before);
                Vector256<float> both = d * v, known = Vector256.Equals(both, both) & Alternate;
                products += both & known;
                ofDark += d * d & known;
                counts += Vector256<float>.One & known;
            }

            product += Vector256.Sum(products);
            squares += Vector256.Sum(ofDark);
            samples += Vector256.Sum(counts);
            for (; i < length; i += 2)
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
