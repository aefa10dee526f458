using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Tests.Fitting;

public class NonlinearLeastSquaresTests
{
    private static readonly double[] X = [0, 1, 2, 3, 4];
    private static readonly double[] Y = [1.1, 2.9, 5.2, 7.1, 8.8];

    private static bool Line(ReadOnlySpan<double> p, Span<double> r, Span<double> j)
    {
        for (int i = 0; i < X.Length; i++)
        {
            r[i] = p[0] + p[1] * X[i] - Y[i];
            if (!j.IsEmpty)
                (j[i], j[X.Length + i]) = (1, X[i]);
        }

        return true;
    }

    // Straight line by hand: mean x 2, mean y 5.02, sxx 10, sxy 19.6; slope 1.96, intercept 1.1; variances 1/10 and 1/5 + 4/10.
    [Fact]
    public void A_straight_line_is_solved_as_by_hand()
    {
        LeastSquaresResult result = NonlinearLeastSquares.Minimize(Line, X.Length, [100, -50]);

        Assert.Equal(LeastSquaresStop.Converged, result.Stop);
        Assert.Equal(1.1, result.Parameters[0], 1e-12);
        Assert.Equal(1.96, result.Parameters[1], 1e-12);
        Assert.Equal(0.6, result.InverseGram![0, 0], 1e-12);
        Assert.Equal(0.1, result.InverseGram[1, 1], 1e-12);
        Assert.Equal(-0.2, result.InverseGram[0, 1], 1e-12);
    }

    [Fact]
    public void Parameters_that_cannot_be_told_apart_are_called_so()
    {
        static bool Twice(ReadOnlySpan<double> p, Span<double> r, Span<double> j)
        {
            for (int i = 0; i < X.Length; i++)
            {
                r[i] = (p[0] + p[1]) * X[i] - Y[i];
                if (!j.IsEmpty)
                    (j[i], j[X.Length + i]) = (X[i], X[i]);
            }

            return true;
        }

        LeastSquaresResult result = NonlinearLeastSquares.Minimize(Twice, X.Length, [1, 2]);

        Assert.Equal(LeastSquaresStop.Singular, result.Stop);
        Assert.False(result.Converged);
        Assert.Null(result.InverseGram);
    }

    [Fact]
    public void A_start_outside_the_model_s_domain_is_called_so()
    {
        LeastSquaresResult result = NonlinearLeastSquares.Minimize((_, _, _) => false, 5, [1, 2]);

        Assert.Equal(LeastSquaresStop.InvalidStart, result.Stop);
    }

    // A straight line through four parameters, whose derivatives away from the start are as unequal as those of exponentials before they overflow. Taking the
    // product of such derivatives apart never ends.
    [Fact]
    public async Task Derivatives_beyond_all_bounds_end_the_search()
    {
        double[] size = [3e4, 6e86, 0.8, -6.02e86];
        bool Broken(ReadOnlySpan<double> p, Span<double> r, Span<double> j)
        {
            var random = new Random(5);
            for (int i = 0; i < r.Length; i++)
            {
                r[i] = p[0] - 1 + ((p[1] - 2) * i) + ((p[2] - 3) * i * i) + ((p[3] - 4) * i * i * i);
                for (int k = 0; k < 4 && !j.IsEmpty; k++)
                    j[(k * r.Length) + i] = Math.Pow(i, k);
            }

            bool away = p[0] != 5;
            for (int i = 0; i < r.Length && away && !j.IsEmpty; i++)
            {
                double common = random.NextDouble();
                for (int k = 0; k < 4; k++)
                    j[(k * r.Length) + i] = size[k] * (k % 2 == 1 ? common : random.NextDouble());
            }

            return true;
        }

        await Task.Run(() => NonlinearLeastSquares.Minimize(Broken, 12, [5, 5, 5, 5])).WaitAsync(TimeSpan.FromSeconds(20));
    }

    // exp(p x) against data that fall below 0 has its least sum of squares at p -> -infinity: there is no minimum to converge to.
    [Fact]
    public void A_minimum_at_infinity_is_not_called_converged()
    {
        static bool Exponential(ReadOnlySpan<double> p, Span<double> r, Span<double> j)
        {
            for (int i = 0; i < X.Length; i++)
            {
                double e = Math.Exp(p[0] * (X[i] + 1));
                r[i] = e + 1;
                if (!j.IsEmpty)
                    j[i] = e * (X[i] + 1);
            }

            return true;
        }

        Assert.False(NonlinearLeastSquares.Minimize(Exponential, X.Length, [0.5]).Converged);
    }

    [Fact]
    public void Fewer_residuals_than_parameters_are_refused() =>
        Assert.Throws<ArgumentException>(() => NonlinearLeastSquares.Minimize(Line, 1, [1, 2]));
}
