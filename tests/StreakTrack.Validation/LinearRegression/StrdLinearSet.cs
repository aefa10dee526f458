using System.Globalization;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Studies;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Validation.LinearRegression;

/// <summary>One NIST StRD linear set: a straight line or a polynomial in one variable, with its certified values.</summary>
internal sealed record StrdLinearSet(
    string Name, double[] X, double[] Y, double[] Certified, double[] CertifiedDeviations, double CertifiedResidualDeviation)
{
    /// <summary>Digits of the certified values.</summary>
    private const double CertifiedDigits = 15;

    /// <summary>The sets, and how many digits the worst coefficient must reach at least.</summary>
    /// <remarks>
    /// Straight lines: double arithmetic loses two or three of 15. Polynomials: 1 less than a column-scaled QR factorisation reaches with numpy
    /// (fixtures/nist-strd/numpy-strd.csv); how many are lost lies in the condition of the set, and the last digit in the order of the sums.
    /// </remarks>
    public static IReadOnlyList<(string Name, double LeastDigits)> All { get; } =
    [
        ("Norris", 12), ("NoInt1", 12), ("NoInt2", 12), ("Pontius", 11.7), ("Filip", 6.3), ("Wampler1", 8.2), ("Wampler2", 11.7), ("Wampler3", 8.5),
        ("Wampler4", 6.7), ("Wampler5", 4.7),
    ];

    private bool HasIntercept => !Name.StartsWith("NoInt", StringComparison.Ordinal);

    private bool IsStraight => Certified.Length == (HasIntercept ? 2 : 1);

    public static StrdLinearSet Read(string name)
    {
        string[] lines = File.ReadAllLines(Fixtures.PathOf("nist-strd", "linear", name + ".dat"));
        double[][] rows = [.. lines.Skip(60).Select(Numbers).Where(row => row.Length == 2)];
        double[][] coefficients =
        [
            .. lines.Take(60).Select(line => line.Trim()).Where(line => line.Length > 2 && line[0] == 'B' && char.IsDigit(line[1]))
                .Select(line => Numbers(line[line.IndexOf(' ', StringComparison.Ordinal)..])),
        ];
        string deviation = lines.Single(l => l.Contains("Standard Deviation   ", StringComparison.Ordinal) && l.Trim().Length > 30);
        return new StrdLinearSet(name, [.. rows.Select(r => r[1])], [.. rows.Select(r => r[0])], [.. coefficients.Select(c => c[0])],
            [.. coefficients.Select(c => c[1])], Numbers(deviation["     Standard Deviation".Length..])[0]);
    }

    /// <summary>Correct digits of the worst coefficient, the worst standard deviation and the residual standard deviation.</summary>
    public (double Coefficients, double Deviations, double Residual) Score()
    {
        (double[] found, double[] deviations, double residual) = IsStraight ? Line() : Polynomial();
        return (Worst(found, Certified), Worst(deviations, CertifiedDeviations), Digits(residual, CertifiedResidualDeviation));
    }

    /// <summary>Correct digits: the log relative error, at most 15; where 0 is certified, the log absolute error.</summary>
    public static double Digits(double found, double certified)
    {
        double error = Math.Abs(found - certified) / (certified == 0 ? 1 : Math.Abs(certified));
        return double.IsNaN(error) ? 0 : Math.Clamp(-Math.Log10(error), 0, CertifiedDigits);
    }

    private static double Worst(double[] found, double[] certified) => found.Zip(certified, Digits).Min();

    private (double[], double[], double) Line()
    {
        StraightLine line = StraightLineFitter.Fit(
            [.. X.Zip(Y, (x, y) => new LinePoint(x, y))], new StraightLineOptions { ThroughOrigin = !HasIntercept });
        return HasIntercept
            ? ([line.Intercept.Value, line.Slope.Value], [line.Intercept.StandardUncertainty, line.Slope.StandardUncertainty], line.ResidualDeviation)
            : ([line.Slope.Value], [line.Slope.StandardUncertainty], line.ResidualDeviation);
    }

    private (double[], double[], double) Polynomial()
    {
        int p = Certified.Length;
        LeastSquaresResult result = NonlinearLeastSquares.Minimize(Residuals, X.Length, new double[p]);
        double variance = result.SumOfSquares / (X.Length - p);
        return (result.Parameters, [.. Enumerable.Range(0, p).Select(j => Math.Sqrt(result.InverseGram![j, j] * variance))], Math.Sqrt(variance));

        bool Residuals(ReadOnlySpan<double> b, Span<double> residuals, Span<double> jacobian)
        {
            for (int i = 0; i < X.Length; i++)
            {
                double value = 0, power = 1;
                for (int j = 0; j < p; j++, power *= X[i])
                {
                    value += b[j] * power;
                    if (!jacobian.IsEmpty)
                        jacobian[(j * X.Length) + i] = power;
                }

                residuals[i] = value - Y[i];
            }

            return true;
        }
    }

    private static double[] Numbers(string text)
    {
        string[] cells = text.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        return cells.All(c => double.TryParse(c, NumberStyles.Float, CultureInfo.InvariantCulture, out _))
            ? [.. cells.Select(c => double.Parse(c, CultureInfo.InvariantCulture))]
            : [];
    }
}
