using StreakTrack.Synthesis.Rendering;

namespace StreakTrack.Synthesis.Tests.Rendering;

public class SeededRandomTests
{
    [Fact]
    public void Normal_numbers_have_mean_zero_variance_one_and_no_memory()
    {
        const int N = 200_000;
        var random = new SeededRandom(42, RandomStream.NoiseTable);
        double sum = 0, squares = 0, fourth = 0, neighbours = 0, last = 0;
        for (int i = 0; i < N; i++)
        {
            double x = random.Normal(i);
            sum += x;
            squares += x * x;
            fourth += x * x * x * x;
            neighbours += x * last;
            last = x;
        }

        // One sigma: 1/sqrt(N) = 0.0022 for mean and correlation, sqrt(2/N) = 0.0032 for the variance, sqrt(96/N) = 0.022 for the fourth
        // moment 3.
        Assert.Equal(0, sum / N, 0.009);
        Assert.Equal(1, squares / N, 0.013);
        Assert.Equal(3, fourth / N, 0.09);
        Assert.Equal(0, neighbours / N, 0.009);
    }

    [Fact]
    public void Streams_and_seeds_are_unrelated()
    {
        SeededRandom a = new(1, RandomStream.Marks), b = new(1, RandomStream.Tremble), c = new(2, RandomStream.Marks);
        double ab = 0, ac = 0;
        for (int i = 0; i < 40_000; i++)
        {
            ab += a.Normal(i) * b.Normal(i);
            ac += a.Normal(i) * c.Normal(i);
        }

        // One sigma is 0.005.
        Assert.Equal(0, ab / 40_000, 0.02);
        Assert.Equal(0, ac / 40_000, 0.02);
    }
}
