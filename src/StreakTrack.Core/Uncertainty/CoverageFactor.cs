using MathNet.Numerics;
using MathNet.Numerics.Distributions;

namespace StreakTrack.Core.Uncertainty;

/// <summary>Coverage factors from Student's t distribution (JCGM 100:2008, annex G).</summary>
public static class CoverageFactor
{
    /// <summary>From here on a series about the normal quantile is used; its first term left out is of the order 1/nu⁴.</summary>
    private const double LargeDegreesOfFreedom = 1000;

    /// <summary>Factor k by which a standard uncertainty is multiplied for an interval of the stated coverage probability.</summary>
    /// <param name="probability">Coverage probability of the two-sided interval, above 0 and below 1.</param>
    /// <param name="degreesOfFreedom">Degrees of freedom, positive, not necessarily whole; infinite for a normal distribution.</param>
    /// <returns>The two-sided quantile, accurate to about 12 digits; infinite where it exceeds 1e150, for a small part of one degree of
    /// freedom.</returns>
    /// <exception cref="ArgumentOutOfRangeException">An argument is outside its range or NaN.</exception>
    public static double TwoSided(double probability, double degreesOfFreedom)
    {
        if (!(probability > 0 && probability < 1))
            throw new ArgumentOutOfRangeException(nameof(probability), probability, "The probability must lie between 0 and 1.");
        if (!(degreesOfFreedom > 0))
            throw new ArgumentOutOfRangeException(nameof(degreesOfFreedom), degreesOfFreedom, "Degrees of freedom must be positive.");

        if (degreesOfFreedom >= LargeDegreesOfFreedom)
            return NearNormal(probability, degreesOfFreedom);

        if (degreesOfFreedom < 1)
            return HeavyTailed(1 - probability, degreesOfFreedom);

        double t = StudentT.InvCDF(0, 1, degreesOfFreedom, (1 + probability) / 2);
        // The library's quantile and incomplete beta function hold only 8 digits; Newton steps on an exact tail finish it.
        double tail = 1 - probability;
        for (int i = 0; i < 3; i++)
            t += (TwoSidedTail(t, degreesOfFreedom) - tail) / (2 * Density(t, degreesOfFreedom));
        return t;
    }

    // Below one degree of freedom the quantile runs over hundreds of powers of ten, where the library's root finder gives up: halve the
    // interval of its logarithm.
    private static double HeavyTailed(double tail, double degreesOfFreedom)
    {
        double low = Math.Log(1e-6), high = Math.Log(1e150);
        if (!(TwoSidedTail(Math.Exp(high), degreesOfFreedom) < tail))
            return double.PositiveInfinity;
        for (int i = 0; i < 100; i++)
        {
            double middle = (low + high) / 2;
            if (TwoSidedTail(Math.Exp(middle), degreesOfFreedom) > tail)
                low = middle;
            else
                high = middle;
        }

        return Math.Exp((low + high) / 2);
    }

    private static double Density(double t, double degreesOfFreedom) =>
        Math.Exp(-LogBetaHalf(degreesOfFreedom / 2) - ((degreesOfFreedom + 1) / 2 * SpecialFunctions.Log1p(t * t / degreesOfFreedom)))
        / Math.Sqrt(degreesOfFreedom);

    /// <summary>Probability that |T| exceeds t: the incomplete beta function I_x(nu/2, 1/2) at x = nu/(nu + t²).</summary>
    private static double TwoSidedTail(double t, double degreesOfFreedom)
    {
        double a = degreesOfFreedom / 2;
        double x = degreesOfFreedom / (degreesOfFreedom + (t * t));
        double y = t * t / (degreesOfFreedom + (t * t));
        double front = Math.Exp((a * Math.Log(x)) + (0.5 * Math.Log(y)) - LogBetaHalf(a));
        // The fraction converges fast on one side of the mean only (Abramowitz and Stegun, 26.5.8).
        return x < (a + 1) / (a + 2.5) ? front * Fraction(a, 0.5, x) / a : 1 - (front * Fraction(0.5, a, y) / 0.5);
    }

    /// <summary>Logarithm of the beta function B(a, 1/2).</summary>
    private static double LogBetaHalf(double a) =>
        SpecialFunctions.GammaLn(a) + SpecialFunctions.GammaLn(0.5) - SpecialFunctions.GammaLn(a + 0.5);

    /// <summary>The continued fraction of the incomplete beta function, by the modified algorithm of Lentz.</summary>
    private static double Fraction(double a, double b, double x)
    {
        double c = 1;
        double d = 1 / Guard(1 - ((a + b) * x / (a + 1)));
        double f = d;
        for (int m = 1; m <= 10_000; m++)
        {
            double even = m * (b - m) * x / ((a + (2 * m) - 1) * (a + (2 * m)));
            d = 1 / Guard(1 + (even * d));
            c = Guard(1 + (even / c));
            f *= c * d;
            double odd = -(a + m) * (a + b + m) * x / ((a + (2 * m)) * (a + (2 * m) + 1));
            d = 1 / Guard(1 + (odd * d));
            c = Guard(1 + (odd / c));
            f *= c * d;
            if (Math.Abs((c * d) - 1) < 1e-15)
                break;
        }

        return f;

        static double Guard(double value) => Math.Abs(value) < 1e-300 ? 1e-300 : value;
    }

    /// <summary>Cornish-Fisher series of the t quantile about the normal one (Abramowitz and Stegun, 26.7.5).</summary>
    private static double NearNormal(double probability, double degreesOfFreedom)
    {
        double z = Constants.Sqrt2 * SpecialFunctions.ErfInv(probability);
        // The inverse error function holds 11 digits, the error function itself all of them.
        z += (SpecialFunctions.Erfc(z / Constants.Sqrt2) - (1 - probability)) / (Constants.Sqrt2 / Constants.SqrtPi * Math.Exp(-z * z / 2));
        double z2 = z * z;
        double first = (z2 + 1) / 4;
        double second = ((((5 * z2) + 16) * z2) + 3) / 96;
        double third = ((((((3 * z2) + 19) * z2) + 17) * z2) - 15) / 384;
        double n = 1 / degreesOfFreedom;
        return z * (1 + (n * (first + (n * (second + (n * third))))));
    }
}
