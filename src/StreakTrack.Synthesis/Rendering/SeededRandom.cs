namespace StreakTrack.Synthesis.Rendering;

/// <summary>Random numbers by counting: the n-th number of a stream depends on seed, stream and n alone, never on who asked
/// before.</summary>
/// <remarks>The mixing function is the public-domain SplitMix64 finaliser (Steele, Lea, Flood 2014, "Fast splittable pseudorandom number
/// generators"; constants from memory, and checked in tests by the numbers' mean, variance and independence).</remarks>
internal readonly struct SeededRandom(int seed, RandomStream stream)
{
    private readonly ulong _key = Mix((ulong)(uint)seed * 0x9E3779B97F4A7C15 + (ulong)stream + 1);

    /// <summary>64 random bits.</summary>
    public ulong Bits(long n) => Mix(_key + (ulong)n * 0x9E3779B97F4A7C15);

    /// <summary>Uniform in [0, 1).</summary>
    public double Uniform(long n) => (Bits(n) >> 11) * (1.0 / (1UL << 53));

    /// <summary>Normal with mean 0 and standard deviation 1 (Box and Muller 1958).</summary>
    public double Normal(long n)
    {
        double radius = Math.Sqrt(-2 * Math.Log(1 - Uniform(2 * n)));
        return radius * Math.Cos(2 * Math.PI * Uniform(2 * n + 1));
    }

    private static ulong Mix(ulong z)
    {
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
        return z ^ (z >> 31);
    }
}
